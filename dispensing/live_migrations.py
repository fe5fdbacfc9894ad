"""Operations of migrations that keep nobody from working while they run."""

from __future__ import annotations

from typing import Any

from django.contrib.postgres.operations import AddIndexConcurrently, RemoveIndexConcurrently
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


class AddIndexOnline(AddIndexConcurrently):
    """Adds an index of a large table: on PostgreSQL concurrently, so the migration must have ``atomic = False``."""

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        if schema_editor.connection.vendor == "postgresql":
            # One that was broken off is there but not usable.
            schema_editor.execute(f"DROP INDEX CONCURRENTLY IF EXISTS {self.index.name}")
        _adding(schema_editor).database_forwards(self, app_label, schema_editor, from_state, to_state)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        _adding(schema_editor).database_backwards(self, app_label, schema_editor, from_state, to_state)


class RemoveIndexOnline(RemoveIndexConcurrently):
    """Takes an index away in the same manner."""

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        _removing(schema_editor).database_forwards(self, app_label, schema_editor, from_state, to_state)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        _removing(schema_editor).database_backwards(self, app_label, schema_editor, from_state, to_state)


def _adding(schema_editor: BaseDatabaseSchemaEditor) -> type[migrations.AddIndex]:
    return AddIndexConcurrently if schema_editor.connection.vendor == "postgresql" else migrations.AddIndex


def _removing(schema_editor: BaseDatabaseSchemaEditor) -> type[migrations.RemoveIndex]:
    return RemoveIndexConcurrently if schema_editor.connection.vendor == "postgresql" else migrations.RemoveIndex
