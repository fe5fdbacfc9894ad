"""What a call has seen of each patient so far, kept in a file of its own: a million orders need no memory.

An order is held against the patient's earlier ones of the same call, so that what is about two of them is found once,
with the later one. Pure.
"""

from __future__ import annotations

import sqlite3
import zlib
from types import TracebackType

from orders.documents.lens_order import LensOrder, parse_order

MOST = 100
"""Of one patient the last so many count: more than anybody has, and few enough to be compared with one by one."""


class EarlierOrders:
    """Closed, it is gone."""

    def __init__(self) -> None:
        self._kept = sqlite3.connect("", isolation_level=None)  # a temporary file, deleted by SQLite itself
        self._kept.execute("PRAGMA journal_mode=OFF")
        self._kept.execute("CREATE TABLE kept (patient TEXT NOT NULL, text BLOB NOT NULL)")
        self._kept.execute("CREATE INDEX of_patient ON kept (patient)")
        self._kept.execute("BEGIN")

    def __enter__(self) -> EarlierOrders:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._kept.close()

    def of(self, patient: str | None) -> list[LensOrder]:
        """The patient's orders so far, as they came; none of a patient without a reference."""
        if patient is None:
            return []
        asked = "SELECT text FROM kept WHERE patient = ? ORDER BY rowid DESC LIMIT ?"
        found = self._kept.execute(asked, (patient, MOST)).fetchall()
        return [parse_order(zlib.decompress(text)) for (text,) in reversed(found)]

    def keep(self, patient: str | None, text: bytes) -> None:
        if patient is not None:
            self._kept.execute("INSERT INTO kept VALUES (?, ?)", (patient, zlib.compress(text, 1)))
