"""Readings of finished pairs: each is held against a document of its own order, and its result is its verdict's."""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.doctor.registry import Diagnosis, long_check, ok, wrong
from dispensing.doctor.walk import Walk
from orders.models import FinishedReading

WALK = "finished-pairs"
RESTORE = "Somebody went round the database's locks; restore this row from a backup."


@long_check(WALK)
def readings_belong_to_their_orders(walk: Walk) -> Iterator[Diagnosis]:
    rows = FinishedReading.objects.select_related("order", "document", "second_of").defer(
        "document__pdf", "document__text", "document__report", "readings"
    )
    found = 0
    for batch in walk.over(WALK, rows if walk.since is None else rows.filter(read_at__gte=walk.since)):
        for reading in batch:
            for said in _wrong_with(reading):
                found += 1
                yield wrong(f"finished reading {reading.pk} of {reading.order} {said}", RESTORE)
    if not found:
        yield ok(f"{walk.seen(WALK):,} readings of finished pairs belong to their orders")


def _wrong_with(reading: FinishedReading) -> Iterator[str]:
    if reading.document.order_id != reading.order_id:
        yield f"is held against {reading.document}"
    if reading.second_of is not None and reading.second_of.order_id != reading.order_id:
        yield "checks a reading of another order"
    if reading.result != reading.verdict.get("verdict"):
        yield f"is kept as “{reading.get_result_display()}”, which is not its verdict"
