"""Whether this process can do its work: each check says in a word what is wrong, or nothing.

What is ``needed`` takes the process out of the proxy's list while it is wrong. Other checks are only told: that no
sender runs is no reason to take the pages away as well.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

Check = Callable[[], str]
FEWEST_FREE_BYTES = 50 * 2**20


@dataclass(frozen=True)
class Readiness:
    """``told``: what is wrong by check, empty where nothing is."""

    ready: bool
    told: dict[str, str]


_checks: dict[str, tuple[Check, bool]] = {}


def ready_check(name: str, *, needed: bool) -> Callable[[Check], Check]:
    def register(check: Check) -> Check:
        _checks[name] = (check, needed)
        return check

    return register


def readiness() -> Readiness:
    told = {name: _asked(check) for name, (check, _) in _checks.items()}
    return Readiness(not any(told[name] for name, (_, needed) in _checks.items() if needed), told)


def _asked(check: Check) -> str:
    try:
        return check()
    except (DatabaseError, OSError) as fault:
        return type(fault).__name__


@ready_check("database", needed=True)
def database_answers() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return ""


class _Migrations:
    """Asked once more until all are applied: they are never taken back under a running process."""

    applied = False

    def __call__(self) -> str:
        if not self.applied:
            executor = MigrationExecutor(connection)
            missing = len(executor.migration_plan(executor.loader.graph.leaf_nodes()))
            if missing:
                return f"{missing} not applied"
            self.applied = True
        return ""


ready_check("migrations", needed=True)(_Migrations())


@ready_check("storage", needed=True)
def storage_can_be_written_to() -> str:
    folder = Path(settings.DATA_DIR)
    with tempfile.TemporaryFile(dir=folder) as file:
        file.write(b"ready?")
    space = os.statvfs(folder)
    return "" if space.f_bavail * space.f_frsize >= FEWEST_FREE_BYTES else "almost full"
