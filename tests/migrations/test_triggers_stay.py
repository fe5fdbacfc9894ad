"""What can never be changed stays so, whichever way the tables are taken through their migrations."""

from __future__ import annotations

from typing import Any

from django.db import connection

from dispensing.append_only import APPEND_ONLY_TABLES

EVENTS = "orders_orderevent"
BEFORE_ITS_LAST_COLUMN = [("orders", "0010_use_and_powers_of_the_pair")]


def triggers_on(table: str) -> int:
    listed = {
        "sqlite": "SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s",
        "postgresql": "SELECT count(*) FROM pg_trigger WHERE tgrelid = %s::regclass AND NOT tgisinternal",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(listed, [table])
        return int(cursor.fetchone()[0])


def test_events_keep_their_triggers_when_a_column_is_taken_out_and_put_back(migrated: Any) -> None:
    migrated()
    before = {table: triggers_on(table) for table in APPEND_ONLY_TABLES}
    assert min(before.values()) >= 2
    migrated(BEFORE_ITS_LAST_COLUMN)
    assert triggers_on(EVENTS) == before[EVENTS]
    migrated()
    assert {table: triggers_on(table) for table in APPEND_ONLY_TABLES} == before
