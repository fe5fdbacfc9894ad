"""Migrations run while a practice works: what they do to large tables on PostgreSQL must not keep anybody waiting.

Reads the SQL that each migration would run. An index is made concurrently, a constraint is added without looking at
every row (``NOT VALID``, and proved by itself), nothing is written anew.
"""

from __future__ import annotations

import io
import re

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader

# Up to these, migrations ran before any practice was large.
BEFORE = {"dispensing": 21, "orders": 23}

# A row a practice, a person, a lab or a rule: too few to wait for.
SMALL = {
    "dispensing_practice",
    "dispensing_practicerule",
    "dispensing_serialnumber",
    "dispensing_staffuser",
    "orders_catalogue",
    "orders_lab",
    "orders_labsecret",
    "orders_pricelist",
    "orders_sender",
}

LONG = {
    "makes an index in one go": r'CREATE (?:UNIQUE )?INDEX (?!CONCURRENTLY)\S+ ON (?P<table>"?\w+"?)',
    "looks at every row for a constraint": r'ALTER TABLE (?P<table>"?\w+"?)[^;]*\b(?:ADD CONSTRAINT|REFERENCES)\b(?![^;]*NOT VALID)',
    "looks at every row for a gap": r'ALTER TABLE (?P<table>"?\w+"?) ALTER COLUMN \S+ SET NOT NULL',
    "writes every row anew": r'ALTER TABLE (?P<table>"?\w+"?) ALTER COLUMN \S+ TYPE',
    "writes every row": r'UPDATE (?P<table>"?\w+"?) SET',
}


def long_locks(sql: str) -> list[str]:
    """What of the SQL would lock a large table for long, in words."""
    new = set(re.findall(r'CREATE TABLE "?(\w+)"?', sql))
    found = [(why, match["table"].strip('"')) for why, form in LONG.items() for match in re.finditer(form, sql)]
    return [f"{table}: {why}" for why, table in found if table not in SMALL | new]


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
def test_new_migrations_keep_nobody_waiting() -> None:
    names = [key for key in MigrationLoader(connection).graph.nodes if int(key[1][:4]) > BEFORE.get(key[0], 9999)]
    assert {"patients_found_by_an_index", "deliveries_claimed_by_an_index"} <= {name[5:] for _, name in names}
    wrong = {}
    for app, name in names:
        out = io.StringIO()
        call_command("sqlmigrate", app, name, stdout=out, no_color=True)
        if found := long_locks(out.getvalue()):
            wrong[f"{app} {name}"] = found
    assert not wrong


def test_the_small_tables_are_tables() -> None:
    assert {model._meta.db_table for model in apps.get_models()} >= SMALL


@pytest.mark.parametrize(
    ("sql", "found"),
    [
        ('CREATE INDEX "a" ON "orders_order" ("place");', ["orders_order: makes an index in one go"]),
        ('CREATE INDEX CONCURRENTLY "a" ON "orders_order" ("place");', []),
        ('CREATE UNIQUE INDEX "a" ON "orders_order" ("place");', ["orders_order: makes an index in one go"]),
        ('CREATE INDEX "a" ON "orders_lab" ("name");', []),
        ('CREATE TABLE "orders_new" ("id" bigint); CREATE INDEX "a" ON "orders_new" ("id");', []),
        (
            'ALTER TABLE "orders_order" ADD CONSTRAINT "a" CHECK (x > 0);',
            ["orders_order: looks at every row for a constraint"],
        ),
        ('ALTER TABLE "orders_order" ADD CONSTRAINT "a" CHECK (x > 0) NOT VALID;', []),
        (
            'ALTER TABLE "orders_order" ADD COLUMN "a_id" bigint NULL CONSTRAINT "b" REFERENCES "c"("id");',
            ["orders_order: looks at every row for a constraint"],
        ),
        ('ALTER TABLE "orders_order" ADD COLUMN "a" text NULL;', []),
        ('ALTER TABLE "orders_order" ALTER COLUMN "a" SET NOT NULL;', ["orders_order: looks at every row for a gap"]),
        ('ALTER TABLE "orders_order" ALTER COLUMN "a" TYPE text;', ["orders_order: writes every row anew"]),
        ('UPDATE "orders_order" SET "a" = 1;', ["orders_order: writes every row"]),
    ],
)
def test_what_locks_a_large_table_is_seen(sql: str, found: list[str]) -> None:
    assert long_locks(sql) == found
