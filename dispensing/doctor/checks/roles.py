"""As whom the program signs in to PostgreSQL: the application should be unable to take off what protects the record."""

from __future__ import annotations

from collections.abc import Iterator

from django.apps import apps
from django.db import connection

from dispensing.append_only import APPEND_ONLY_TABLES
from dispensing.doctor.registry import Diagnosis, doctor_check, note, ok, wrong
from dispensing.evidence.roles import MAY_BE_READ

MAKE_TWO = "Make an owner and an application role (README, In production), and sign in as the application."
AGAIN = "Run the SQL of python3 manage.py database_roles again, as after every migrate."
WRITING = ("SELECT", "INSERT", "UPDATE", "DELETE")
MEDDLING = ("UPDATE", "DELETE", "TRUNCATE", "TRIGGER")


@doctor_check("application-role")
def the_application_owns_nothing() -> Iterator[Diagnosis]:
    if connection.vendor != "postgresql":
        return
    role, may_all, owns = _who_we_are()
    if may_all or owns:
        what = "may do everything there" if may_all else "owns the tables"
        yield note(f"the program signs in to the database as {role}, who {what}", MAKE_TWO)
        return
    others = {model._meta.db_table for model in apps.get_models(include_auto_created=True)} - set(APPEND_ONLY_TABLES)
    found = [
        *(f"{role} may change or empty {table}" for table in _with_any(sorted(APPEND_ONLY_TABLES), MEDDLING)),
        *(f"{role} may not write to {table}" for table in sorted(others) if not _has_all(table, WRITING)),
        *(f"{role} may not add to {table}" for table in APPEND_ONLY_TABLES if not _has_all(table, WRITING[:2])),
        *([] if _has_all(MAY_BE_READ, WRITING[:1]) else [f"{role} may not read {MAY_BE_READ}"]),
    ]
    yield from (wrong(said, AGAIN) for said in found)
    if not found:
        yield ok(f"{role} can read and write rows, and change nothing that is only ever added")


def _who_we_are() -> tuple[str, bool, bool]:
    """The role's name, whether it is a superuser, and whether it owns what must not be changed."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT current_user, rolsuper, EXISTS (SELECT FROM pg_class WHERE relname = ANY(%s)"
            " AND pg_has_role(relowner, 'USAGE')) FROM pg_roles WHERE rolname = current_user",
            [list(APPEND_ONLY_TABLES)],
        )
        name, may_all, owns = cursor.fetchone()
    return str(name), bool(may_all), bool(owns)


def _with_any(tables: list[str], rights: tuple[str, ...]) -> list[str]:
    return [table for table in tables if any(_has_all(table, (right,)) for right in rights)]


def _has_all(table: str, rights: tuple[str, ...]) -> bool:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT bool_and(has_table_privilege(%s, given)) FROM unnest(%s::text[]) AS given", [table, list(rights)]
        )
        return bool(cursor.fetchone()[0])
