"""New migrations may run while a practice works: none locks a large table for long, and none takes away what the web
processes that still run the version before it read.

Read from the SQL that PostgreSQL would be sent. A migration up to the first release is left alone: nobody works yet.
"""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.db.migrations.loader import MigrationLoader

LAST_BEFORE_THE_FIRST_RELEASE = 30
# A migration that has to be run while nobody works, with the reason.
ACCEPTED: dict[tuple[str, str], str] = {}

DANGERS = {
    r"CREATE (UNIQUE )?INDEX (?!CONCURRENTLY)": "use AddIndexConcurrently; this stops all writing meanwhile",
    r"ALTER TABLE .* ADD CONSTRAINT .* (CHECK|UNIQUE) (?!.*NOT VALID)": "add it NOT VALID, and validate it afterwards",
    r"ALTER TABLE .* ALTER COLUMN .* TYPE ": "this writes the whole table anew; add a column instead",
    r"ALTER TABLE .* ALTER COLUMN .* SET NOT NULL": "this reads the whole table; add a checked constraint first",
    r"ALTER TABLE .* DROP COLUMN ": "the version before still reads it; drop it in the next release",
    r"ALTER TABLE .* RENAME ": "the version before still calls it by its old name",
    r"(LOCK TABLE|CLUSTER|VACUUM FULL)": "this stops everybody",
}
TABLE = re.compile(r'(?:TABLE|ON) "?(\w+)"?')


def dangers(statements: list[str]) -> list[str]:
    """What is wrong with the SQL of one migration; a table that it makes itself is still empty."""
    made = {found[1] for one in statements if (found := re.match(r'CREATE TABLE "?(\w+)"?', one))}
    added = {found[1] for one in statements if (found := re.search(r'ADD COLUMN "?(\w+)"?', one))}
    return [
        f"{one[:120]}: {advice}"
        for one in statements
        for pattern, advice in DANGERS.items()
        if re.search(pattern, one) and not _is_harmless(one, made, added)
    ]


def _is_harmless(statement: str, made: set[str], added: set[str]) -> bool:
    table = TABLE.search(statement)
    # Django drops the default of a column that it has just added: that touches no row.
    return (table is not None and table[1] in made) or any(f'"{name}" DROP DEFAULT' in statement for name in added)


def sql_of(app: str, name: str) -> list[str]:
    loader = MigrationLoader(connection, replace_migrations=False)
    lines = loader.collect_sql([(loader.get_migration(app, name), False)])
    return [line for line in lines if not line.startswith("--")]


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)  # an index is made concurrently only outside one
def test_no_new_migration_stops_a_practice_that_works() -> None:
    assert dangers(sql_of("orders", "0025_deliveries_claimed_by_an_index")) == []
    loader = MigrationLoader(connection, replace_migrations=False)
    new = [
        (app, name)
        for app, name in sorted(loader.disk_migrations)
        if app in ("dispensing", "orders") and int(name[:4]) > LAST_BEFORE_THE_FIRST_RELEASE
    ]
    found = {key: dangers(sql_of(*key)) for key in new if key not in ACCEPTED}
    assert {key: what for key, what in found.items() if what} == {}


@pytest.mark.postgres
@pytest.mark.django_db
def test_the_sql_of_an_old_migration_shows_what_would_be_found() -> None:
    found = dangers(sql_of("dispensing", "0014_serial_numbers_and_indexes_of_the_trail"))
    assert found
    assert all("AddIndexConcurrently" in one for one in found if one.startswith("CREATE INDEX"))
    assert dangers(sql_of("dispensing", "0001_initial")) == []


@pytest.mark.parametrize(
    ("statements", "count"),
    [
        (['CREATE INDEX "born" ON "dispensing_patient" ("born_on");'], 1),
        (['CREATE INDEX CONCURRENTLY "born" ON "dispensing_patient" ("born_on");'], 0),
        (['CREATE TABLE "new" ("id" bigint);', 'CREATE INDEX "of_new" ON "new" ("id");'], 0),
        (['CREATE TABLE "new" ("id" bigint);', 'CREATE INDEX "of_old" ON "old" ("id");'], 1),
        (['ALTER TABLE "old" ADD COLUMN "said" varchar(9) DEFAULT \'\' NOT NULL;'], 0),
        (['ALTER TABLE "old" ADD CONSTRAINT "known" CHECK ("said" = \'a\');'], 1),
        (['ALTER TABLE "old" ADD CONSTRAINT "known" CHECK ("said" = \'a\') NOT VALID;'], 0),
        (['ALTER TABLE "old" ALTER COLUMN "said" TYPE text USING "said"::text;'], 1),
        (['ALTER TABLE "old" DROP COLUMN "said" CASCADE;'], 1),
        (['ALTER TABLE "old" RENAME COLUMN "said" TO "told";'], 1),
        (['ALTER TABLE "old" ALTER COLUMN "said" SET NOT NULL;'], 1),
    ],
)
def test_what_is_dangerous_is_found_and_what_is_not_is_let_through(statements: list[str], count: int) -> None:
    assert len(dangers(statements)) == count
