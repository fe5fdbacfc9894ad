"""Adds to the chain the rows that were written since. Done by whoever runs beside the website, never by a writer.

A writer neither waits for the chain nor works for it. The price is a tail that is not sealed yet, of half a
minute while a sender runs; the doctor says how long it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from dispensing.evidence.chain import NOTHING_BEFORE, packed, seal_hash
from dispensing.evidence.decided import Decided
from dispensing.evidence.tables import between, entry
from dispensing.models import Seal

ROWS_OF_A_SEAL = 250
SEALS_AT_ONCE = 20
BEFORE_EVERY_KEY = -(2**63)


class Sealer:
    """One process's. Several may run: of two that would add the same seal, one does."""

    def __init__(self) -> None:
        self._decided = Decided()

    def seal(self, most: int = SEALS_AT_ONCE) -> int:
        """Seal what is decided, with at most so many seals; returns how many were added."""
        return sum(1 for _ in islice(self._added(), most))

    def _added(self) -> Iterator[Seal]:
        for table, through in self._decided.through().items():
            while (after := sealed_through(table)) < through and (added := _add(table, after, through)):
                yield added


def sealed_through(table: str) -> int:
    """The last key that is sealed."""
    last = Seal.objects.filter(table=table).order_by("-after").values_list("through", flat=True).first()
    return BEFORE_EVERY_KEY if last is None else last


def _add(table: str, after: int, through: int) -> Seal | None:
    """One seal of the rows above ``after``; None if another sealer was quicker."""
    rows = list(between(table, after, through)[:ROWS_OF_A_SEAL])
    if len(rows) == ROWS_OF_A_SEAL:
        through = entry(table, rows[-1])[0]
    entries = packed(entry(table, row) for row in rows)
    try:
        with transaction.atomic():
            before = Seal.objects.order_by("-number").values("number", "sha256").first()
            number, previous = (before["number"], before["sha256"]) if before else (0, NOTHING_BEFORE)
            now = timezone.now()
            sha256 = seal_hash(previous, number + 1, table, after, through, now, entries)
            facts: dict[str, Any] = {
                "table": table,
                "after": after,
                "through": through,
                "entries": entries,
                "sealed_at": now,
            }
            return Seal.objects.create(number=number + 1, sha256=sha256, **facts)
    except IntegrityError:
        return None
