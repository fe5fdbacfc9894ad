"""The indexes that find part of a text: PostgreSQL's pg_trgm, or SQLite's FTS5, both by three letters in a row.

Knows only SQL. What is looked through stands in columns of the patient (``dispensing/search_words.py`` says how it is
written); `dispensing/queries/finding.py` asks.
"""

from __future__ import annotations

from typing import Any

from django.db import migrations, transaction
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.utils import ProgrammingError

TABLE = "dispensing_patient"
COLUMNS = ("search_text", "contact_text")
MAY_NOT = (
    "This role may not add PostgreSQL's extension pg_trgm, by which patients are found. Let an administrator run "
    '"CREATE EXTENSION pg_trgm" in this database once (Debian has it in the package postgresql), then migrate again.'
)

IN_SQLITE = (
    """CREATE VIRTUAL TABLE dispensing_patient_parts USING fts5(search_text, contact_text,
    content='dispensing_patient', content_rowid='id', tokenize='trigram case_sensitive 1')""",
    "INSERT INTO dispensing_patient_parts(dispensing_patient_parts) VALUES ('rebuild')",
    """CREATE TRIGGER dispensing_patient_parts_insert AFTER INSERT ON dispensing_patient BEGIN
    INSERT INTO dispensing_patient_parts(rowid, search_text, contact_text)
    VALUES (new.id, new.search_text, new.contact_text); END""",
    """CREATE TRIGGER dispensing_patient_parts_delete AFTER DELETE ON dispensing_patient BEGIN
    INSERT INTO dispensing_patient_parts(dispensing_patient_parts, rowid, search_text, contact_text)
    VALUES ('delete', old.id, old.search_text, old.contact_text); END""",
    """CREATE TRIGGER dispensing_patient_parts_update AFTER UPDATE OF search_text, contact_text ON dispensing_patient
    WHEN old.search_text <> new.search_text OR old.contact_text <> new.contact_text BEGIN
    INSERT INTO dispensing_patient_parts(dispensing_patient_parts, rowid, search_text, contact_text)
    VALUES ('delete', old.id, old.search_text, old.contact_text);
    INSERT INTO dispensing_patient_parts(rowid, search_text, contact_text)
    VALUES (new.id, new.search_text, new.contact_text); END""",
)
IN_SQLITE_MATCHING = "SELECT rowid FROM dispensing_patient_parts WHERE dispensing_patient_parts MATCH %s"


class ExtensionMissing(Exception):
    """PostgreSQL's extension is not there, and this role may not add it; the message says what to do."""


def add_extension(schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Adds pg_trgm where it is not there yet. Raises `ExtensionMissing`."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_extension WHERE extname = 'pg_trgm'")
        if cursor.fetchone():
            return
    try:
        with transaction.atomic(using=schema_editor.connection.alias):
            schema_editor.execute("CREATE EXTENSION IF NOT EXISTS pg_trgm")
    except (ProgrammingError, NotImplementedError) as refused:
        raise ExtensionMissing(MAY_NOT) from refused


def index_parts(schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Makes the index, on PostgreSQL without keeping anybody from writing meanwhile."""
    if schema_editor.connection.vendor == "postgresql":
        for column in COLUMNS:
            # One that was broken off is there but not usable.
            schema_editor.execute(f"DROP INDEX CONCURRENTLY IF EXISTS {_name(column)}")
            schema_editor.execute(
                f"CREATE INDEX CONCURRENTLY {_name(column)} ON {TABLE} USING gin ({column} gin_trgm_ops)"
            )
        return
    for statement in IN_SQLITE:
        schema_editor.execute(statement)


def drop_parts(schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "postgresql":
        for column in COLUMNS:
            schema_editor.execute(f"DROP INDEX CONCURRENTLY IF EXISTS {_name(column)}")
        return
    for event in ("insert", "delete", "update"):
        schema_editor.execute(f"DROP TRIGGER IF EXISTS dispensing_patient_parts_{event}")
    schema_editor.execute("DROP TABLE IF EXISTS dispensing_patient_parts")


FRAME_COLUMNS = ("model", "colour", "stock_number")
"""In which frames are looked for as they are written, whatever the case; SQLite reads all of the few there are."""


def frames_indexed() -> migrations.RunPython:
    """The operation that makes PostgreSQL's index of parts of frames' names."""

    def make(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
        drop(apps, schema_editor)
        if schema_editor.connection.vendor == "postgresql":
            for column in FRAME_COLUMNS:
                schema_editor.execute(
                    f"CREATE INDEX CONCURRENTLY frame_{column}_parts ON dispensing_frame "
                    f"USING gin (UPPER({column}) gin_trgm_ops)"
                )

    def drop(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
        if schema_editor.connection.vendor == "postgresql":
            for column in FRAME_COLUMNS:
                schema_editor.execute(f"DROP INDEX CONCURRENTLY IF EXISTS frame_{column}_parts")

    return migrations.RunPython(make, drop)


def _name(column: str) -> str:
    return f"patient_{column}_parts"


def extension() -> migrations.RunPython:
    """The operation that a migration uses before `parts_indexed`."""

    def add(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
        if schema_editor.connection.vendor == "postgresql":
            add_extension(schema_editor)

    return migrations.RunPython(add, migrations.RunPython.noop)


def parts_indexed() -> migrations.RunPython:
    """The operation that makes the index; again wherever SQLite rebuilds the table, which drops its triggers."""

    def make(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
        drop_parts(schema_editor)
        index_parts(schema_editor)

    return migrations.RunPython(make, lambda apps, schema_editor: drop_parts(schema_editor))
