"""Takes the database back to an earlier state, and to the newest again whatever happens."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

Targets = list[tuple[str, str]]


@pytest.fixture
def migrated(transactional_db: None) -> Iterator[Callable[[Targets | None], Any]]:
    """``migrated(targets)``: the models as they were there; without targets, as they are now."""
    newest = MigrationExecutor(connection).loader.graph.leaf_nodes()

    def go(targets: Targets | None = None) -> Any:
        executor = MigrationExecutor(connection)
        executor.migrate(targets or newest)
        return MigrationExecutor(connection).loader.project_state(targets or newest).apps

    yield go
    go()
