"""Whether the triggers that refuse every change are there, switched on, and do what they were made for. Reads only."""

from __future__ import annotations

import re
from collections.abc import Iterator

from django.db import connection

from dispensing.append_only import (
    APPEND_ONLY_TABLES,
    Trigger,
    changes_refused,
    refusal,
    statement,
    ways_around_refused,
)

_ON_SQLITE = "SELECT name, sql, '', 'O' FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s"
_ON_POSTGRESQL = """
    SELECT made.tgname, pg_get_triggerdef(made.oid), does.prosrc, made.tgenabled
    FROM pg_trigger made JOIN pg_proc does ON does.oid = made.tgfoid
    WHERE made.tgrelid = to_regclass(%s) AND NOT made.tgisinternal
"""
SWITCHED_ON = {"O", "A"}
Found = dict[str, tuple[str, str, str]]


def what_is_wrong() -> Iterator[str]:
    """One sentence part for each trigger that is missing, switched off, changed, or not ours."""
    for table in APPEND_ONLY_TABLES:
        expected = (*changes_refused(connection.vendor, table), *ways_around_refused(connection, table))
        found = _found(table)
        for trigger in expected:
            wrong = _wrong_with(table, trigger, found)
            if wrong:
                yield f"the trigger {trigger.name} {wrong}, so {_what_it_allows(trigger, table)}"
        for name in sorted(found.keys() - {trigger.name for trigger in expected}):
            yield f"{table} has a trigger of somebody else's, {name}"


def _found(table: str) -> Found:
    """By name: how the trigger was created, the body of its function, whether it is switched on."""
    with connection.cursor() as cursor:
        cursor.execute(_ON_POSTGRESQL if connection.vendor == "postgresql" else _ON_SQLITE, [table])
        return {name: (text, body, state) for name, text, body, state in cursor.fetchall()}


def _wrong_with(table: str, trigger: Trigger, found: Found) -> str:
    if trigger.name not in found:
        return "is missing"
    text, body, state = found[trigger.name]
    if state not in SWITCHED_ON:
        return "is switched off"
    as_made = statement(connection.vendor, table, trigger)
    if _bare(text) != _bare(as_made) or (body and _bare(body) != _bare(refusal(table))):
        return "was changed"
    return ""


def _bare(sql: str) -> str:
    """SQL without what may differ between versions of this program or of the database: messages, schema, spaces."""
    return " ".join(re.sub(r"'[^']*'", "''", sql).replace("public.", "").split())


def _what_it_allows(trigger: Trigger, table: str) -> str:
    allowed = {"INSERT": "replaced", "TRUNCATE": "emptied", "UPDATE": "changed", "DELETE": "deleted"}
    return f"rows of {table} can be {allowed.get(trigger.when, 'changed or deleted')}"
