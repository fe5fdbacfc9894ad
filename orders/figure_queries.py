"""Readings of finished pairs, and what each order tells, read from the record for the figures. It only reads."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from datetime import date
from functools import lru_cache
from typing import Any, NamedTuple

from django.db.models import Max, Min
from django.utils import timezone

from dispensing.models import StaffUser
from orders.figures.counts import Counts, from_rows
from orders.figures.hand import QUANTITIES, Reading, axis_as_cylinder
from orders.figures.story import (
    NOT_SAID,
    Again,
    Frozen,
    Happened,
    Told,
    design_of,
    designs_by_eye,
    lab_of,
    stands,
    told_of,
)
from orders.models import CountedMonth, CountedOrder, DraftFinding, FinishedReading, Order, OrderDocument, OrderEvent
from orders.queries import late_before


class Ordered(NamedTuple):
    """What readings are sorted by, from a frozen document."""

    lab: str
    design: str
    designs: dict[str, str]


def readings_since(day: date) -> Iterator[Reading]:
    """Every figure read of every lens since this day, oldest first; a second reader's says nothing more of the lab."""
    rows = FinishedReading.objects.filter(read_at__date__gte=day, second_of=None).select_related("document")
    for row in rows.only("read_at", "verdict", "document__text", "document__number").order_by("read_at", "pk"):
        ordered = ordered_of(row.document.text)
        items = row.verdict.get("items", [])
        cylinders = {item["eye"]: item["ordered"] for item in items if item["quantity"] == "cylinder"}
        for item in items:
            error = _error(item, cylinders)
            if error is not None and item["quantity"] in QUANTITIES:
                design = ordered.designs.get(item.get("eye") or "") or ordered.design
                on = timezone.localdate(row.read_at)
                yield Reading(row.document.number, on, ordered.lab, design, item["quantity"], error)


def _error(item: dict[str, Any], cylinders: dict[str | None, float]) -> float | None:
    error = (item.get("extra") or {}).get("error")
    if item["quantity"] != "axis" or error is None:
        return error
    cylinder = cylinders.get(item["eye"])
    return None if cylinder is None else axis_as_cylinder(cylinder, error)


@lru_cache(maxsize=4096)
def ordered_of(text: str) -> Ordered:
    """Lab and designs by eye. Frozen text never changes, so that it is read once."""
    told = json.loads(text)
    return Ordered(lab_of(told), design_of(told), designs_by_eye(told))


def told_by_number(numbers: Collection[str]) -> dict[str, Told]:
    """What each of these orders tells the figures; one that never left is not among them."""
    rows = Order.objects.filter(number__in=numbers).values_list("pk", "number", "revision")
    revisions = {pk: (number, revision) for pk, number, revision in rows}
    events, documents, found = _events(revisions), _documents(revisions), _found(revisions)
    again = _again(revisions)
    told = {
        number: told_of(events[number], documents[number], found[number], again.get(number))
        for number in {number for number, _ in revisions.values()}
    }
    return {number: one for number, one in told.items() if one is not None}


Revisions = Mapping[int, tuple[str, int]]
"""By an order's key, its number and revision."""


def _events(revisions: Revisions) -> dict[str, list[Happened]]:
    found: dict[str, list[Happened]] = defaultdict(list)
    rows = OrderEvent.objects.filter(order__in=list(revisions)).order_by("pk")
    for order, kind, at, actor in rows.values_list("order_id", "kind", "at", "actor_id"):
        number, revision = revisions[order]
        found[number].append(Happened(revision, kind, timezone.localdate(at), str(actor or "")))
    return found


def _documents(revisions: Revisions) -> dict[str, list[Frozen]]:
    found: dict[str, list[Frozen]] = defaultdict(list)
    rows = OrderDocument.objects.filter(order__in=list(revisions)).order_by("revision")
    for number, revision, text, report in rows.values_list("number", "revision", "text", "report"):
        found[number].append(Frozen(revision, text, report))
    return found


def _found(revisions: Revisions) -> dict[str, dict[int, list[tuple[str, str]]]]:
    found: dict[str, dict[int, list[tuple[str, str]]]] = defaultdict(lambda: defaultdict(list))
    for order, rule, level in DraftFinding.objects.filter(order__in=list(revisions)).values_list(
        "order_id", "rule", "level"
    ):
        number, revision = revisions[order]
        found[number][revision].append((rule, level))
    return found


def _again(revisions: Revisions) -> dict[str, Again]:
    """The first remake of each that was sent and stands; its cause stays as it was when it was sent."""
    remakes = Order.objects.filter(remake_of__in=list(revisions), sent_at__isnull=False).order_by("-pk")
    rows = list(remakes.values_list("pk", "number", "revision", "remake_of", "remake_cause", "remake_whose"))
    events = _events({pk: (number, revision) for pk, number, revision, *_ in rows})
    return {
        revisions[first][0]: Again(cause or NOT_SAID, whose)
        for _, number, _, first, cause, whose in rows
        if first and stands(events[number])
    }


def counted_months(first: str, last: str) -> dict[str, Counts]:
    """The counts of each month from the first to the last, as in 2026-11, that has any."""
    rows = CountedMonth.objects.filter(month__gte=first, month__lte=last).values_list("month", "counts")
    return {month: from_rows(counts) for month, counts in rows if counts}


def months_counted() -> tuple[str, str] | None:
    """The first and the last month in which an order was sent; None if none was."""
    found = CountedMonth.objects.exclude(counts=[]).aggregate(first=Min("month"), last=Max("month"))
    return (found["first"], found["last"]) if found["first"] else None


def overdue(first: str, last: str) -> int:
    """Orders first sent in these months whose day is past today while their pair is not ready."""
    late = Order.objects.filter(late_before(timezone.localdate()), sent_at__isnull=False).values("number")
    rows = CountedOrder.objects.filter(number__in=late, month__gte=first, month__lte=last)
    return rows.filter(told__days=None, told__clock_back=False, told__withdrawn=False).count()


def names_of_people(keys: Collection[str]) -> dict[str, str]:
    """The names of staff by their keys as text, as they are called now."""
    return {str(person.pk): person.display_name for person in StaffUser.objects.filter(pk__in=keys)}
