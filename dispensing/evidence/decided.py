"""How far the rows of a table are decided: up to which key nothing can appear any more but by somebody's meddling.

SQLite gives keys to one writer at a time. On PostgreSQL a writer takes its key before it commits, so a lower key may
appear after a higher one. Nobody is made to wait for that: whoever writes to a table holds a lock on it that keeps out
no other writer, and the list of these locks tells which writers were about when the highest key was read. Once all of
them have ended, every key up to that one is decided.
"""

from __future__ import annotations

from django.db import connection
from django.db.models import Max

from dispensing.evidence.tables import sealed_models

_WRITERS = """
    SELECT class.relname, held.virtualtransaction
    FROM pg_locks held JOIN pg_class class ON class.oid = held.relation
    WHERE held.locktype = 'relation' AND held.mode = 'RowExclusiveLock' AND held.pid <> pg_backend_pid()
      AND held.database = (SELECT oid FROM pg_database WHERE datname = current_database())
"""
Writers = frozenset[str]


class Decided:
    """One sealer's knowledge. ``through`` looks again; the answer may be behind, and never ahead."""

    def __init__(self) -> None:
        self._waiting: dict[str, tuple[int, Writers]] = {}

    def through(self) -> dict[str, int]:
        """The last decided key by table; a table is left out while nothing is known of it."""
        highest = _highest()  # before the writers: one that starts in between has a higher key
        writers = _writers()
        found = {table: self._of(table, key, writers.get(table, frozenset())) for table, key in highest.items()}
        return {table: key for table, key in found.items() if key is not None}

    def _of(self, table: str, highest: int, writers: Writers) -> int | None:
        if not writers:
            self._waiting.pop(table, None)
            return highest
        before, waited_for = self._waiting.get(table, (None, writers))
        if before is not None and waited_for & writers:
            return None
        self._waiting[table] = (highest, writers)
        return before


def _highest() -> dict[str, int]:
    found = {table: model._default_manager.aggregate(key=Max("pk"))["key"] for table, model in sealed_models().items()}
    return {table: key for table, key in found.items() if key is not None}


def _writers() -> dict[str, Writers]:
    """Who is writing to each table just now. On SQLite nobody but us can be."""
    if connection.vendor != "postgresql":
        return {}
    with connection.cursor() as cursor:
        cursor.execute(_WRITERS)
        rows = cursor.fetchall()
    return {table: frozenset(writer for named, writer in rows if named == table) for table, _ in rows}
