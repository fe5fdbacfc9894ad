"""The desk's day: pairs that are here and whose patient is to be told or to come, and questions of labs to pass on.

This module only reads, and only orders that wait for the practice, however many are finished.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, TypedDict

from django.db.models import Count, F, Prefetch, Q, QuerySet
from django.db.models.functions import Coalesce
from django.utils import timezone

from dispensing.models import Patient
from dispensing.queries.paging import Page, page_of
from dispensing.trade import figure
from orders.models import Order, OrderEvent
from orders.progress import EventKind, Place
from orders.queries import asked_by

if TYPE_CHECKING:
    from django_stubs_ext import WithAnnotations

    class Since(TypedDict):
        since: datetime

    WaitingOrder = WithAnnotations[Order, Since]

LONGEST_FIRST = ("since", "pk")
CALLS_AND_NOTES = (EventKind.PATIENT_TOLD, EventKind.MESSAGE_LEFT, EventKind.NOTE)
MOST_CALLS = 20
UNCOLLECTED_DAYS = tuple(round(figure("uncollected", f"{mark}_days")) for mark in ("first", "second", "last"))
"""After so many days a pair that nobody collected is marked."""


def waiting_at(*places: Place) -> QuerySet[WaitingOrder]:
    """Orders at these places with whom to call, and with what happened to them, in order; ``since``: from when."""
    there = Order.objects.filter(place__in=[str(place) for place in places])
    rows = there.annotate(since=Coalesce("place_since", F("created_at")))
    happened = OrderEvent.objects.select_related("actor", "lab_word").order_by("pk")
    rows = rows.select_related("patient", "lab", "created_by", "sent_by").prefetch_related(
        Prefetch("events", queryset=happened)
    )
    return rows.order_by(*LONGEST_FIRST)


def calls_of(patient: Patient) -> list[OrderEvent]:
    """The last calls to this patient, messages left and notes, whichever order they were about, newest first."""
    rows = OrderEvent.objects.filter(order__patient=patient, kind__in=CALLS_AND_NOTES)
    return list(rows.select_related("actor", "order").order_by("-pk")[:MOST_CALLS])


def to_tell(after: str = "") -> Page[WaitingOrder]:
    """Checked pairs whose patient has not been told, longest first."""
    return page_of(waiting_at(Place.TO_TELL), order=LONGEST_FIRST, after=after)


def to_collect(days: int = 0, after: str = "", now: datetime | None = None) -> Page[WaitingOrder]:
    """Pairs that the patient was told of at least so many days ago and has not collected, longest first."""
    return page_of(uncollected(days, now), order=LONGEST_FIRST, after=after)


def uncollected(days: int = 0, now: datetime | None = None) -> QuerySet[WaitingOrder]:
    rows = waiting_at(Place.READY)
    return rows.filter(place_since__lt=_day_after(days, now)) if days else rows


def uncollected_counts(now: datetime | None = None) -> Mapping[int, int]:
    """How many pairs are ready (0), and how many of them for at least 7, 14 and 30 days."""
    rows = Order.objects.order_by().filter(place=str(Place.READY))
    wanted = {f"of_{days}": Count("pk", filter=Q(place_since__lt=_day_after(days, now))) for days in UNCOLLECTED_DAYS}
    found = rows.aggregate(of_0=Count("pk"), **wanted)
    return {days: found[f"of_{days}"] for days in (0, *UNCOLLECTED_DAYS)}


def questions(after: str = "") -> Page[WaitingOrder]:
    """Orders whose lab waits for an answer, longest first."""
    return page_of(waiting_at(Place.QUERY_OPEN), order=LONGEST_FIRST, after=after)


def at_the_counter(text: str, most: int = 20) -> list[WaitingOrder]:
    """Pairs that can be handed over, of whoever stands there: by name, order number or tray."""
    return list(waiting_at(Place.TO_TELL, Place.READY).filter(asked_by(text))[:most])


def _day_after(days: int, now: datetime | None) -> datetime:
    """The end of the day so many days ago: a day counts whole, whatever the hour."""
    now = timezone.localtime(now)
    return (now - timedelta(days=days)).replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1)
