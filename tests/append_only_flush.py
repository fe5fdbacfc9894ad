"""A pytest plugin: lets the tests that need real commits empty the append-only tables afterwards, and quickly.

Such a test ends with a flush, which is a DELETE on SQLite and a TRUNCATE on PostgreSQL, and the triggers rightly refuse
both. They sleep during just that flush, so that they hold within every test. On PostgreSQL it becomes a DELETE too: to
truncate a hundred small tables takes many times as long. What migrating itself leaves behind is not emptied, so that
it need not be made again after each test.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from django.core.management.commands import flush
from django.db import connection
from django.db.backends.base.operations import BaseDatabaseOperations

from dispensing.append_only import APPEND_ONLY_TABLES

KEPT = ("django_content_type", "auth_permission")

_flush = BaseDatabaseOperations.execute_sql_flush
_TRIGGERS = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s"


def _flush_without_triggers(self: BaseDatabaseOperations, sql_list: Sequence[str]) -> None:
    wanted = [sql for sql in map(_deleting, sql_list) if not any(f'"{table}"' in sql for table in KEPT)]
    with _asleep_on_postgresql() if connection.vendor == "postgresql" else _away_on_sqlite():
        _flush(self, wanted)


def _deleting(sql: str) -> str:
    """The same without TRUNCATE."""
    if not sql.startswith("TRUNCATE") or "RESTART IDENTITY" in sql:
        return sql
    return " ".join(f'DELETE FROM "{table}";' for table in re.findall(r'"(\w+)"', sql) if table not in KEPT)


@contextmanager
def _asleep_on_postgresql() -> Iterator[None]:
    with connection.cursor() as cursor:
        cursor.execute("SET session_replication_role = replica")
        try:
            yield
        finally:
            cursor.execute("SET session_replication_role = DEFAULT")


@contextmanager
def _away_on_sqlite() -> Iterator[None]:
    """SQLite cannot switch triggers off: they are taken away and put back word for word."""
    with connection.cursor() as cursor:
        kept = [row for table in APPEND_ONLY_TABLES for row in cursor.execute(_TRIGGERS, [table]).fetchall()]
        for name, _sql in kept:
            cursor.execute(f"DROP TRIGGER {connection.ops.quote_name(name)}")
        try:
            yield
        finally:
            for _name, sql in kept:
                cursor.execute(sql)


BaseDatabaseOperations.execute_sql_flush = _flush_without_triggers  # type: ignore[assignment, method-assign]  # meant
flush.emit_post_migrate_signal = lambda *args, **kwargs: None  # type: ignore[attr-defined]  # the stubs leave it out
