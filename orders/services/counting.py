"""Keeps the figures counted: reads the events written since the last time and counts anew only the orders they touch.

So a look at the figures costs what has happened since the last look, however long the history. Everything is worked out
from events, frozen documents and reports; `count_anew` does it from the beginning and gives the same.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from django.conf import settings
from django.db import transaction
from django.db.models import Max

from orders.figure_queries import told_by_number
from orders.figures.counts import WAY_OF_COUNTING, Counts, as_rows, changed, counts_of, from_rows
from orders.figures.story import Told
from orders.models import CountedMonth, CountedOrder, Counting, Order, OrderEvent

EVENTS_AT_ONCE = 2000
# What one look at a page counts at most; the command does the rest.
EVENTS_A_LOOK = 10_000
# Transactions end in another order than their events' numbers: so many before the last one read are read again.
READ_AGAIN = 200


@dataclass(frozen=True, slots=True)
class Progress:
    """How many events are left to be read, and of how many orders what was kept turned out otherwise."""

    left: int
    orders_changed: int


def bring_up_to_date(*, at_most: int | None = None) -> Progress:
    """Count what happened since the last time; ``at_most``: so many events, None for all."""
    newest = OrderEvent.objects.aggregate(newest=Max("pk"))["newest"] or 0
    kept = Counting.objects.first()
    if kept is not None and kept.through == newest and _is_ours(kept):
        return Progress(0, 0)
    read = otherwise = 0
    while at_most is None or read < at_most:
        events, orders = _count_next()
        if not events:
            return Progress(0, otherwise)
        read, otherwise = read + events, otherwise + orders
    left = OrderEvent.objects.filter(pk__gt=Counting.objects.get(pk=1).through).count()
    return Progress(left, otherwise)


@transaction.atomic
def count_anew() -> Progress:
    """Forget what was kept and count from the beginning. ``orders_changed``: of which it comes out otherwise."""
    before = _prints()
    CountedOrder.objects.all().delete()
    CountedMonth.objects.all().delete()
    Counting.objects.all().delete()
    bring_up_to_date()
    after = _prints()
    return Progress(0, sum(before.get(number) != after.get(number) for number in before.keys() | after.keys()))


def _prints() -> dict[str, int]:
    """What is kept of each order, as a hash: of a long history it would not all fit beside what is counted anew."""
    rows = CountedOrder.objects.values_list("number", "told").iterator(chunk_size=EVENTS_AT_ONCE)
    return {number: hash(json.dumps(told, sort_keys=True)) for number, told in rows}


@transaction.atomic
def _count_next() -> tuple[int, int]:
    """Read the next events; returns how many, and of how many orders something changed."""
    counting = _held()
    new = list(
        OrderEvent.objects.filter(pk__gt=counting.through).order_by("pk").values_list("pk", flat=True)[:EVENTS_AT_ONCE]
    )
    if not new:
        return 0, 0
    numbers = _touched(counting.through - READ_AGAIN, new[-1])
    otherwise = _count(numbers)
    counting.through = new[-1]
    counting.save()
    return len(new), otherwise


def _held() -> Counting:
    """The one row, held until the transaction ends; what was counted otherwise than we count is forgotten."""
    Counting.objects.get_or_create(pk=1)
    counting = Counting.objects.select_for_update().get(pk=1)
    if not _is_ours(counting):
        CountedOrder.objects.all().delete()
        CountedMonth.objects.all().delete()
        counting.through, counting.zone, counting.way = 0, settings.TIME_ZONE, WAY_OF_COUNTING
    return counting


def _is_ours(counting: Counting) -> bool:
    return (counting.zone, counting.way) == (settings.TIME_ZONE, WAY_OF_COUNTING)


def _touched(after: int, through: int) -> set[str]:
    """The orders of these events, and those that they remake."""
    events = OrderEvent.objects.filter(pk__gt=after, pk__lte=through)
    orders = Order.objects.filter(pk__in=events.values("order"))
    return {name for row in orders.values_list("number", "remake_of__number") for name in row if name}


def _count(numbers: Collection[str]) -> int:
    found = told_by_number(numbers)
    kept = {row.number: Told.from_json(row.told) for row in CountedOrder.objects.filter(number__in=numbers)}
    new = {number: told for number, told in found.items() if kept.get(number) != told}
    gone = {number: told for number, told in kept.items() if found.get(number) != told}
    _move_counts(gone.values(), new.values())
    CountedOrder.objects.filter(number__in=gone).delete()
    CountedOrder.objects.bulk_create(
        CountedOrder(number=number, month=told.month, told=told.as_json()) for number, told in sorted(new.items())
    )
    return len(gone.keys() | new.keys())


def _move_counts(gone: Iterable[Told], new: Iterable[Told]) -> None:
    taken, added = _by_month(gone), _by_month(new)
    for month in sorted(taken.keys() | added.keys()):
        row, _ = CountedMonth.objects.get_or_create(month=month)
        counts = changed(from_rows(row.counts), gone=taken.get(month, ()), new=added.get(month, ()))
        row.counts = as_rows(counts)
        row.save()


def _by_month(orders: Iterable[Told]) -> Mapping[str, list[Counts]]:
    found: dict[str, list[Counts]] = defaultdict(list)
    for told in orders:
        found[told.month].append(counts_of(told))
    return found
