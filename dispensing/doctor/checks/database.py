"""The database: does it answer, is it up to date, and is it set up as the code expects."""

from __future__ import annotations

from collections.abc import Iterator

from django.conf import settings
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.utils import OperationalError

from dispensing.doctor.registry import Diagnosis, doctor_check, ok, wrong

SECONDS_TO_CONNECT = 5


@doctor_check("database")
def database_answers_and_is_up_to_date() -> Iterator[Diagnosis]:
    if connection.vendor == "postgresql":
        connection.settings_dict["OPTIONS"].setdefault("connect_timeout", SECONDS_TO_CONNECT)
    try:
        connection.ensure_connection()
    except OperationalError as fault:
        yield wrong(f"the database does not answer ({_one_line(fault)})", _how_to_reach_it())
        return
    yield ok(f"{connection.display_name} answers")
    yield _journal() if connection.vendor == "sqlite" else _encoding()
    yield _migrations()
    yield from _migrations_of_others()


def _one_line(fault: Exception) -> str:
    return " ".join(str(fault).split())


def _how_to_reach_it() -> str:
    if settings.PRODUCTION:
        return "Start the database server, or correct DATABASE_URL."
    return f"See that this user may write to {settings.DATA_DIR} and that the disk is not full."


def _journal() -> Diagnosis:
    mode = _value("PRAGMA journal_mode")
    if mode == "wal":
        return ok("SQLite keeps a write-ahead log, so readers do not wait for writers")
    return wrong(
        f"SQLite's journal is {mode!r}; it must be a write-ahead log",
        f"Move {settings.DATA_DIR} to a disk of this machine: network disks cannot have one.",
    )


def _encoding() -> Diagnosis:
    encoding = _value("SHOW server_encoding")
    if encoding == "UTF8":
        return ok("the database takes every script (UTF8)")
    return wrong(
        f"the database's encoding is {encoding}, so some names cannot be stored",
        "Dump it and load it into a database created with ENCODING 'UTF8'.",
    )


def _value(query: str) -> str:
    with connection.cursor() as cursor:
        cursor.execute(query)
        return str(cursor.fetchone()[0])


def _migrations() -> Diagnosis:
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if not plan:
        return ok("all migrations are applied")
    names = ", ".join(f"{migration.app_label}.{migration.name}" for migration, _ in plan[:3])
    return wrong(f"{len(plan)} migrations are not applied ({names} …)", "Run: python3 manage.py migrate")


def _migrations_of_others() -> Iterator[Diagnosis]:
    """Migrations that the database has and this program does not know: a newer version made them, or somebody else."""
    loader = MigrationLoader(connection)
    known = set(loader.disk_migrations) | {old for new in loader.disk_migrations.values() for old in new.replaces}
    for app, name in sorted(set(loader.applied_migrations) - known):
        yield wrong(
            f"the database was changed by {app}.{name}, which this program does not know",
            "Run the version of the program that the database belongs to, or restore a backup of this one.",
        )
