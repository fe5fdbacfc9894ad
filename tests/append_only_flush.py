"""A pytest plugin: lets the tests that need real commits empty the append-only tables afterwards.

Such a test ends with a flush, which is a DELETE on SQLite and a TRUNCATE on PostgreSQL, and the triggers rightly refuse
both. They are removed for just that flush and then put back, so that they hold within every test.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.db import connection
from django.db.backends.base.operations import BaseDatabaseOperations

from dispensing.append_only import APPEND_ONLY_TABLES, close_ways_around, open_ways_around, protect, unprotect

_flush = BaseDatabaseOperations.execute_sql_flush


def _flush_without_triggers(self: BaseDatabaseOperations, sql_list: Sequence[str]) -> None:
    with connection.schema_editor(atomic=False) as editor:
        for table in APPEND_ONLY_TABLES:
            open_ways_around(editor, table)
            unprotect(editor, table)
    try:
        _flush(self, sql_list)
    finally:
        with connection.schema_editor(atomic=False) as editor:
            for table in APPEND_ONLY_TABLES:
                protect(editor, table)
                close_ways_around(editor, table)


BaseDatabaseOperations.execute_sql_flush = _flush_without_triggers  # type: ignore[assignment, method-assign]  # meant
