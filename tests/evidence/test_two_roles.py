"""As the application's role of PostgreSQL the whole job can be done, and nothing that protects the record undone."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import ProgrammingError, connection, transaction

from dispensing.doctor.checks.roles import the_application_owns_nothing
from dispensing.doctor.registry import Level
from dispensing.evidence.broken import tail
from orders.models import Delivery, OrderDocument
from orders.services.sending import send_order
from tests.evidence.shelf import build
from tests.orders import shop

OWNER, APPLICATION = "test_owner", "test_application"


def roles_made() -> None:
    out = io.StringIO()
    call_command("database_roles", "--owner", OWNER, "--application", APPLICATION, stdout=out)
    with connection.cursor() as cursor:
        cursor.execute(out.getvalue())


@contextmanager
def acting_as(role: str) -> Iterator[Any]:
    with connection.cursor() as cursor:
        cursor.execute(f"SET LOCAL ROLE {role}")
        yield cursor
        cursor.execute("RESET ROLE")


MEDDLING = (
    "UPDATE orders_orderevent SET note = 'x'",
    "DELETE FROM orders_orderdocument",
    "TRUNCATE dispensing_seal",
    "ALTER TABLE orders_orderevent DISABLE TRIGGER orders_orderevent_append_only",
    "DROP TRIGGER orders_orderevent_append_only ON orders_orderevent",
    "CREATE OR REPLACE FUNCTION orders_orderevent_refuse() RETURNS trigger LANGUAGE plpgsql AS $$BEGIN END$$",
    "CREATE FUNCTION mine() RETURNS int LANGUAGE sql AS $$SELECT 1$$",
    "ALTER TABLE orders_order ADD COLUMN mine int",
    "DROP TABLE dispensing_auditevent CASCADE",
    "CREATE TABLE mine (id int)",
    "SET session_replication_role = replica",
    "INSERT INTO django_migrations (app, name, applied) VALUES ('orders', '0099_mine', now())",
    f"GRANT UPDATE ON orders_orderevent TO {APPLICATION}; UPDATE orders_orderevent SET note = 'x'",
    f"SET ROLE {OWNER}; DROP TABLE dispensing_seal",
)


def succeeds(cursor: Any, statement: str) -> bool:
    try:
        with transaction.atomic():
            cursor.execute(statement)
            transaction.set_rollback(True)
    except ProgrammingError as error:
        return not any(words in str(error) for words in ("permission denied", "must be owner"))
    return True


@pytest.mark.django_db
@pytest.mark.postgres
def test_the_application_can_undo_nothing_that_protects_the_record() -> None:
    roles_made()
    with connection.cursor() as cursor:
        cursor.execute(f"SET SESSION AUTHORIZATION {APPLICATION}")
        assert [statement for statement in MEDDLING if succeeds(cursor, statement)] == []
        cursor.execute("RESET SESSION AUTHORIZATION")


@pytest.mark.django_db
@pytest.mark.postgres
def test_the_owner_changes_tables_and_triggers_as_migrations_do() -> None:
    roles_made()
    with acting_as(OWNER) as cursor:
        cursor.execute(
            "ALTER TABLE orders_orderevent ADD COLUMN later int, DISABLE TRIGGER orders_orderevent_no_truncate"
        )
        cursor.execute("CREATE TABLE later (id serial PRIMARY KEY)")
    with acting_as(APPLICATION) as cursor:
        cursor.execute("INSERT INTO later DEFAULT VALUES RETURNING id")
        assert cursor.fetchone() == (1,)


@pytest.mark.django_db
@pytest.mark.postgres
def test_the_whole_job_is_done_as_the_application() -> None:
    roles_made()
    with acting_as(APPLICATION):
        build()  # orders sent, pairs read, decided on and handed over, everything sealed
        order = shop.draft(patient=shop.patient("P-90003"))
        send_order(order=order, actor=shop.dispenser(), version=order.version)
        waiting = Delivery.objects.filter(state="queued").count()
        assert tail()[0] > 0
        (said,) = the_application_owns_nothing()
    assert (OrderDocument.objects.count(), waiting) == (3, 1)
    assert (said.level, said.said.startswith(f"{APPLICATION} can read and write rows")) == (Level.OK, True)


@pytest.mark.django_db
@pytest.mark.postgres
def test_the_doctor_names_who_may_too_much_or_too_little() -> None:
    (said,) = the_application_owns_nothing()
    assert (said.level, "who may do everything there" in said.said) == (Level.NOTE, True)
    roles_made()
    with connection.cursor() as cursor:
        cursor.execute(f"GRANT UPDATE ON orders_orderevent TO {APPLICATION}")
        cursor.execute(f"REVOKE DELETE ON orders_order FROM {APPLICATION}")
    with acting_as(APPLICATION):
        found = [said.said for said in the_application_owns_nothing()]
    assert found == [
        f"{APPLICATION} may change or empty orders_orderevent",
        f"{APPLICATION} may not write to orders_order",
    ]
    with acting_as(OWNER):
        (said,) = the_application_owns_nothing()
    assert said.said == f"the program signs in to the database as {OWNER}, who owns the tables"


@pytest.mark.parametrize(
    ("owner", "application", "says"),
    [("same", "same", "must be two roles"), ("a; DROP", "b", "small letters"), ("a", "B", "small letters")],
)
def test_names_that_cannot_be_are_refused(owner: str, application: str, says: str) -> None:
    with pytest.raises(CommandError, match=says):
        call_command("database_roles", "--owner", owner, "--application", application)
