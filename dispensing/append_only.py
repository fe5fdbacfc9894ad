"""Tables whose rows may be added but never changed or deleted, enforced by a trigger in the database itself.

A model's ``save`` and ``delete`` can be bypassed by a queryset; a trigger cannot. Knows only SQL.
"""

from __future__ import annotations

from typing import Any

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

APPEND_ONLY_TABLES: dict[str, str] = {
    "dispensing_auditevent": "The audit trail cannot be changed.",
    "orders_finishedreading": "A reading of a finished pair cannot be changed; add another reading.",
    "orders_inspectionphoto": "A photo of a defect cannot be changed; add another one.",
    "orders_orderdocument": "A sent order document cannot be changed; send a new revision.",
    "orders_orderevent": "What happened to an order cannot be changed; add an event.",
    "orders_draftfinding": "What the check said of a draft cannot be changed.",
    "orders_labword": "What a lab said cannot be changed; add an event.",
    "orders_decision": "A decision on a pair cannot be changed; make another.",
    "orders_handover": "What was noted at a hand-over cannot be changed; add a note.",
    "orders_aftercarenote": "What was noted after a hand-over cannot be changed; add a note.",
}


def protect(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    """Create the triggers on ``table``."""
    message = APPEND_ONLY_TABLES[table]
    if schema_editor.connection.vendor == "postgresql":
        _create_refusal(schema_editor, f"{table}_refuse", message)
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


def close_ways_around(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    """Refuse changes made without an UPDATE or a DELETE: SQLite's INSERT OR REPLACE, PostgreSQL's TRUNCATE."""
    if schema_editor.connection.vendor == "postgresql":
        _create_refusal(schema_editor, f"{table}_refuse_truncate", APPEND_ONLY_TABLES[table])
        schema_editor.execute(
            f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
            f"FOR EACH STATEMENT EXECUTE FUNCTION {table}_refuse_truncate()"
        )
        return
    same = " OR ".join(
        "(" + " AND ".join(f'"{column}" = NEW."{column}"' for column in key) + ")"
        for key in _unique_keys(schema_editor, table)
    )
    there_already = f"EXISTS (SELECT 1 FROM {table} WHERE {same})"  # noqa: S608 (names of our own tables only)
    schema_editor.execute(
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN {there_already} "
        f"BEGIN SELECT RAISE(ABORT, '{APPEND_ONLY_TABLES[table]}'); END"
    )


def open_ways_around(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    """Drop those triggers again."""
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(f"DROP TRIGGER {table}_no_truncate ON {table}")
        schema_editor.execute(f"DROP FUNCTION {table}_refuse_truncate()")
        return
    schema_editor.execute(f"DROP TRIGGER {table}_no_replace")


def _create_refusal(schema_editor: BaseDatabaseSchemaEditor, name: str, message: str) -> None:
    """A PostgreSQL trigger function that refuses whatever is being done."""
    schema_editor.execute(
        f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{message}' USING ERRCODE = 'restrict_violation'; END $$"
    )


def _unique_keys(schema_editor: BaseDatabaseSchemaEditor, table: str) -> list[list[str]]:
    """The columns of every unique key by which a row could be replaced."""
    with schema_editor.connection.cursor() as cursor:
        constraints = schema_editor.connection.introspection.get_constraints(cursor, table)
    keys = (found for found in constraints.values() if found["unique"] or found["primary_key"])
    return [found["columns"] for found in keys if found["columns"]]


def append_only(table: str) -> migrations.RunPython:
    """The migration operation that protects ``table``."""

    def forwards(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
        protect(schema_editor, table)

    def backwards(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
        unprotect(schema_editor, table)

    return migrations.RunPython(forwards, backwards)


def no_way_around(*tables: str) -> migrations.RunPython:
    """The migration operation that closes the ways around what protects ``tables``."""

    def forwards(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
        for table in tables:
            close_ways_around(schema_editor, table)

    def backwards(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
        for table in tables:
            open_ways_around(schema_editor, table)

    return migrations.RunPython(forwards, backwards)


def protected_again_backwards(table: str) -> migrations.RunPython:
    """The migration operation to put before one that adds a column to ``table``.

    Taking the column out again makes SQLite copy the table, and the triggers go with the old one.
    """

    def backwards(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
        if schema_editor.connection.vendor == "sqlite":
            protect(schema_editor, table)
            close_ways_around(schema_editor, table)

    return migrations.RunPython(migrations.RunPython.noop, backwards)
