"""Tables whose rows may be added but never changed or deleted, enforced by a trigger in the database itself.

A model's ``save`` and ``delete`` can be bypassed by a queryset; a trigger cannot. Knows only SQL.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db import migrations
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

APPEND_ONLY_TABLES: dict[str, str] = {
    "dispensing_auditevent": "The audit trail cannot be changed.",
    "dispensing_seal": "What was sealed cannot be changed.",
    "orders_finishedreading": "A reading of a finished pair cannot be changed; add another reading.",
    "orders_inspectionphoto": "A photo of a defect cannot be changed; add another one.",
    "orders_notice": "A notice to a patient cannot be changed; write another.",
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
    _create(schema_editor, table, changes_refused(schema_editor.connection.vendor, table))


def unprotect(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    """Drop the triggers on ``table`` again."""
    _drop(schema_editor, table, changes_refused(schema_editor.connection.vendor, table))


def close_ways_around(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    """Refuse changes made without an UPDATE or a DELETE: SQLite's INSERT OR REPLACE, PostgreSQL's TRUNCATE."""
    _create(schema_editor, table, ways_around_refused(schema_editor.connection, table))


def open_ways_around(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    """Drop those triggers again."""
    _drop(schema_editor, table, ways_around_refused(schema_editor.connection, table))


@dataclass(frozen=True)
class Trigger:
    """``when``: what it stands before, as PostgreSQL writes it. ``does``: the function it calls there, or what stands
    after the table's name on SQLite.
    """

    name: str
    when: str
    does: str


def changes_refused(vendor: str, table: str) -> tuple[Trigger, ...]:
    """What refuses an UPDATE and a DELETE."""
    if vendor == "postgresql":
        return (Trigger(f"{table}_append_only", "DELETE OR UPDATE", f"{table}_refuse"),)
    return tuple(Trigger(f"{table}_no_{event.lower()}", event, _abort(table)) for event in ("UPDATE", "DELETE"))


def ways_around_refused(connection: BaseDatabaseWrapper, table: str) -> tuple[Trigger, ...]:
    """What refuses the ways around them."""
    if connection.vendor == "postgresql":
        return (Trigger(f"{table}_no_truncate", "TRUNCATE", f"{table}_refuse_truncate"),)
    same = " OR ".join(
        "(" + " AND ".join(f'"{column}" = NEW."{column}"' for column in key) + ")"
        for key in _unique_keys(connection, table)
    )
    there_already = f"EXISTS (SELECT 1 FROM {table} WHERE {same})"  # noqa: S608 (names of our own tables only)
    return (Trigger(f"{table}_no_replace", "INSERT", f"WHEN {there_already} {_abort(table)}"),)


def statement(vendor: str, table: str, trigger: Trigger) -> str:
    """The SQL that creates the trigger."""
    start = f"CREATE TRIGGER {trigger.name} BEFORE {trigger.when} ON {table} "
    if vendor != "postgresql":
        return f"{start}{trigger.does}"
    each = "STATEMENT" if trigger.when == "TRUNCATE" else "ROW"
    return f"{start}FOR EACH {each} EXECUTE FUNCTION {trigger.does}()"


def refusal(table: str) -> str:
    """The body of a PostgreSQL trigger function that refuses whatever is being done."""
    return f" BEGIN RAISE EXCEPTION '{APPEND_ONLY_TABLES[table]}' USING ERRCODE = 'restrict_violation'; END "


def _abort(table: str) -> str:
    return f"BEGIN SELECT RAISE(ABORT, '{APPEND_ONLY_TABLES[table]}'); END"


def _create(schema_editor: BaseDatabaseSchemaEditor, table: str, triggers: Iterable[Trigger]) -> None:
    vendor = schema_editor.connection.vendor
    for trigger in triggers:
        if vendor == "postgresql":
            schema_editor.execute(
                f"CREATE FUNCTION {trigger.does}() RETURNS trigger LANGUAGE plpgsql AS $${refusal(table)}$$"
            )
        schema_editor.execute(statement(vendor, table, trigger))


def _drop(schema_editor: BaseDatabaseSchemaEditor, table: str, triggers: Iterable[Trigger]) -> None:
    for trigger in triggers:
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(f"DROP TRIGGER {trigger.name} ON {table}")
            schema_editor.execute(f"DROP FUNCTION {trigger.does}()")
        else:
            schema_editor.execute(f"DROP TRIGGER {trigger.name}")


def _unique_keys(connection: BaseDatabaseWrapper, table: str) -> list[list[str]]:
    """The columns of every unique key by which a row could be replaced."""
    with connection.cursor() as cursor:
        constraints = connection.introspection.get_constraints(cursor, table)
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
