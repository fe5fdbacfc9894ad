"""Tables whose rows may be added and never changed or deleted, held by a trigger in the database itself.

A model's ``save`` and ``delete`` can be bypassed by a queryset; a trigger cannot. Knows only SQL.
"""

from __future__ import annotations

from typing import Any

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

APPEND_ONLY_TABLES: dict[str, str] = {
    "dispensing_auditevent": "The audit trail cannot be changed.",
    "orders_orderdocument": "A sent order document cannot be changed; send a new revision.",
    "orders_orderevent": "What happened to an order cannot be changed; add an event.",
}


def protect(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    """Create the triggers on ``table``."""
    message = APPEND_ONLY_TABLES[table]
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            f"CREATE FUNCTION {table}_refuse() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{message}' USING ERRCODE = 'restrict_violation'; END $$"
        )
        schema_editor.execute(
            f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE ON {table} "
            f"FOR EACH ROW EXECUTE FUNCTION {table}_refuse()"
        )
        return
    for event in ("UPDATE", "DELETE"):
        schema_editor.execute(
            f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
        )


def unprotect(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    """Drop the triggers on ``table`` again."""
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(f"DROP TRIGGER {table}_append_only ON {table}")
        schema_editor.execute(f"DROP FUNCTION {table}_refuse()")
        return
    for event in ("update", "delete"):
        schema_editor.execute(f"DROP TRIGGER {table}_no_{event}")


def append_only(table: str) -> migrations.RunPython:
    """The migration operation that protects ``table``."""

    def forwards(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
        protect(schema_editor, table)

    def backwards(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
        unprotect(schema_editor, table)

    return migrations.RunPython(forwards, backwards)
