"""Where the chain of seals and the rows it is about do not agree: what was changed, taken out or put in. Reads only."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from datetime import datetime

from dispensing.doctor.walk import Walk
from dispensing.evidence.chain import NOTHING_BEFORE, seal_hash, unpacked
from dispensing.evidence.sealing import BEFORE_EVERY_KEY, sealed_through
from dispensing.evidence.tables import between, entry, named, sealed_models
from dispensing.models import AuditEvent, Seal

WALK = "seals"


def breaks(walk: Walk) -> Iterator[str]:
    """One sentence part for each row and each seal that is not as it was; from ``walk.since`` on, if it says so."""
    seals = Seal.objects.all() if walk.since is None else Seal.objects.filter(sealed_at__gte=walk.since)
    before: Seal | None = None
    ends: dict[str, int] = {}
    for batch in walk.over(WALK, seals):
        for seal in batch:
            before = before or _before(seal)
            yield from _seal_itself(seal, before, ends)
            before = seal


def _before(seal: Seal) -> Seal | None:
    """The seal that stands before the first one looked at."""
    return Seal.objects.filter(number__lt=seal.number).order_by("-number").first()


def _seal_itself(seal: Seal, before: Seal | None, ends: dict[str, int]) -> Iterator[str]:
    """What is wrong with the link, and unless the seal was changed itself, with the rows it is about."""
    last = before.number if before else 0
    if seal.number != last + 1:
        gone = f"seal {last + 1}" if seal.number == last + 2 else f"seals {last + 1} to {seal.number - 1}"
        yield f"{gone} missing"
        ends.clear()
    elif _hash_of(seal, before.sha256 if before else NOTHING_BEFORE) != seal.sha256:
        yield f"{seal}, of {_rows_of(seal)}, was changed, or does not follow from the one before it"
        return
    if seal.table not in sealed_models():
        yield f"{seal} is of {seal.table}, which is no table of ours"
        return
    start = ends.get(seal.table, _start(seal))
    ends[seal.table] = seal.through
    if seal.after != start:
        yield f"no seal is about rows {start + 1} to {seal.after} of {seal.table}"
    yield from _rows(seal)


def _start(seal: Seal) -> int:
    earlier = Seal.objects.filter(table=seal.table, number__lt=seal.number)
    return earlier.order_by("-number").values_list("through", flat=True).first() or BEFORE_EVERY_KEY


def _hash_of(seal: Seal, previous: str) -> str:
    facts = (seal.number, seal.table, seal.after, seal.through, seal.sealed_at)
    return seal_hash(previous, *facts, bytes(seal.entries))


def _rows_of(seal: Seal) -> str:
    return f"{seal.table} through row {seal.through}"


def _rows(seal: Seal) -> Iterator[str]:
    """The rows that were changed, are gone, or were put among the others later."""
    try:
        sealed = dict(unpacked(bytes(seal.entries)))
    except struct.error:
        yield f"{seal}, of {_rows_of(seal)}, cannot be read"
        return
    stored = dict(entry(seal.table, row) for row in between(seal.table, seal.after, seal.through))
    for key in sorted(sealed.keys() | stored.keys()):
        wrong = _wrong_with(sealed.get(key), stored.get(key), seal)
        if wrong:
            yield f"{named(seal.table, key)} {wrong}"


def _wrong_with(sealed: bytes | None, stored: bytes | None, seal: Seal) -> str:
    """The hash of a row in its seal, and as it is now; None: it is not there."""
    if stored is None:
        return "is missing"
    if sealed is None:
        return f"was put in after {seal} was made"
    return "was changed after it was sealed" if sealed != stored else ""


def tail() -> tuple[int, datetime | None]:
    """How many rows are not sealed yet, and since when the oldest entry of the audit trail among them waits."""
    waiting = {
        table: model._default_manager.filter(pk__gt=sealed_through(table)) for table, model in sealed_models().items()
    }
    oldest = waiting[AuditEvent._meta.db_table].order_by("pk").values_list("at", flat=True).first()
    return sum(rows.count() for rows in waiting.values()), oldest
