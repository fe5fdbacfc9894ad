"""Operations of migrations that keep nobody from working while they run."""

from __future__ import annotations

from typing import Any

from django.contrib.postgres.operations import AddIndexConcurrently
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
            super().database_forwards(app_label, schema_editor, from_state, to_state)
        else:
            migrations.AddIndex.database_forwards(self, app_label, schema_editor, from_state, to_state)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        if schema_editor.connection.vendor == "postgresql":
            super().database_backwards(app_label, schema_editor, from_state, to_state)
        else:
            migrations.AddIndex.database_backwards(self, app_label, schema_editor, from_state, to_state)
