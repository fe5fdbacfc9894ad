"""Order numbers: each that was given is still somebody's order.

A number is given under a lock that is held until the order is stored, and one that is not used after all is given to
the next (`dispensing.services.numbers`); no order is ever deleted, and a draft has its number from the start. So a
number that was given and is not there belongs to a row that was taken out, at the end of a series as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from dispensing.doctor.registry import Diagnosis, long_check, ok, wrong
from dispensing.doctor.walk import Walk
from dispensing.models import SerialNumber
from orders.models import Order
from orders.order_numbers import number_written

SERIES = "orders.order.number "
A_BATCH = 500
RESTORE = "Restore the missing rows from a backup."


@long_check("order-numbers")
def no_number_is_missing(walk: Walk) -> Iterator[Diagnosis]:
    """All numbers each time: they have no date, and asking for 500 at a time by the index takes seconds a million."""
    given, whole = 0, True
    for series, last in SerialNumber.objects.filter(series__startswith=SERIES).values_list("series", "last"):
        prefix = series.removeprefix(SERIES)
        given += last
        for run in runs(_missing(prefix, last)):
            whole = False
            written = " to ".join(number_written(prefix, count) for count in sorted({run[0], run[-1]}))
            yield wrong(f"no order has the number {written}, which was given", RESTORE)
    if whole:
        yield ok(f"each of {given:,} order numbers that were given has its order")


def _missing(prefix: str, last: int) -> Iterator[int]:
    for first in range(1, last + 1, A_BATCH):
        counts = range(first, min(first + A_BATCH, last + 1))
        wanted = {number_written(prefix, count): count for count in counts}
        found = Order.objects.filter(number__in=list(wanted)).values_list("number", flat=True)
        yield from sorted(set(wanted.values()) - {wanted[number] for number in found})


def runs(counts: Iterable[int]) -> Iterator[tuple[int, int]]:
    """First and last of each unbroken run of ascending counts."""
    first = last = None
    for count in counts:
        if first is not None and last is not None and count != last + 1:
            yield first, last
            first = None
        first, last = (count if first is None else first), count
    if first is not None and last is not None:
        yield first, last
