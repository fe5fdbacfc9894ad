"""A full disk, a database that is away, a lost file: a sentence says so, nothing typed is lost, and reading goes on.

The faults are the databases' own wherever they can be brought about: SQLite's ban on writing, PostgreSQL's error
codes and its read-only transactions, connections to where nothing is.
"""

from __future__ import annotations

import errno
import html
import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import psycopg
import pytest
from django.core.files.storage import FileSystemStorage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.db.utils import OperationalError
from django.test import Client

from dispensing import outages
from dispensing.models import Patient, Practice, PrescriptionScan
from dispensing.outages import Outage, outage_of
from tests.builders import a_patient, a_prescription
from tests.known import there
from tests.people import signed_in

TYPED = {"family_name": "Bláthnaid", "given_names": 'Róisín "Ro"', "born_on": "2.4.1968", "notes": "Two\nlines"}

LONG = "é" * 3900


def sql(*statements: str) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def without_room(execute: Callable[..., object], statement: str, params: object, many: bool, context: object) -> object:
    if not statement.startswith(("INSERT", "UPDATE")):
        return execute(statement, params, many, context)
    fault = sqlite3.OperationalError("database or disk is full")
    fault.sqlite_errorcode = sqlite3.SQLITE_FULL
    raise OperationalError(*fault.args) from fault


@contextmanager
def full() -> Iterator[None]:
    if connection.vendor == "sqlite":  # as SQLite says it; `test_commands_in_an_outage` really fills a disk
        with connection.execute_wrapper(without_room):
            yield
        return
    sql(
        "CREATE FUNCTION full_disk() RETURNS trigger LANGUAGE plpgsql AS"
        " $$ BEGIN RAISE EXCEPTION 'could not extend file' USING ERRCODE = 'disk_full'; END $$",
        "CREATE TRIGGER full_disk BEFORE INSERT ON dispensing_patient EXECUTE FUNCTION full_disk()",
    )
    try:
        yield
    finally:
        sql("DROP TRIGGER full_disk ON dispensing_patient", "DROP FUNCTION full_disk")


@contextmanager
def read_only() -> Iterator[None]:
    on, off = (
        ("PRAGMA query_only = ON", "PRAGMA query_only = OFF")
        if connection.vendor == "sqlite"
        else ("SET default_transaction_read_only = on", "SET default_transaction_read_only = off")
    )
    sql(on)
    try:
        yield
    finally:
        sql(off)


def client() -> Client:
    at_the_desk = signed_in("dora")
    at_the_desk.raise_request_exception = False
    return at_the_desk


def hidden_fields(page: str) -> dict[str, str]:
    found = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', page)
    return {name: html.unescape(value) for name, value in found if name != "csrfmiddlewaretoken"}


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("trouble", "outage"), [(full, outages.FULL), (read_only, outages.READ_ONLY)])
def test_nothing_typed_is_lost_where_nothing_can_be_saved_and_reading_goes_on(
    trouble: Callable[[], AbstractContextManager[None]], outage: Outage
) -> None:
    desk, known = client(), a_patient()
    Practice.current()
    with trouble():
        answer = desk.post("/patients/new/", TYPED | {"notes": LONG})
        page = answer.content.decode()
        assert (answer.status_code, answer.headers.get("Cache-Control")) == (507, "no-store")
        assert outage.said in html.unescape(page)
        assert hidden_fields(page) == TYPED | {"notes": LONG}
        read = desk.get(f"/patients/{known.public_id}/")
        assert read.status_code == 200
        assert "Abernathy" in read.content.decode()
        assert desk.get("/patients/").status_code == 200
    assert [patient.family_name for patient in Patient.objects.all()] == ["Abernathy"]
    assert desk.post("/patients/new/", hidden_fields(page)).status_code == 302
    assert Patient.objects.get(family_name="Bláthnaid").given_names == 'Róisín "Ro"'


@pytest.mark.django_db(transaction=True)
def test_a_database_that_is_away_is_a_plain_page_a_problem_and_never_a_form_that_asks_for_the_password(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    desk = client()
    connection.close()
    with monkeypatch.context() as away:
        if connection.vendor == "sqlite":
            away.setitem(connection.settings_dict, "NAME", tmp_path / "no such folder" / "file")
        else:
            away.setitem(connection.settings_dict, "HOST", str(tmp_path))
            away.setitem(connection.settings_dict, "OPTIONS", {})
        page = desk.get("/patients/")
        assert (page.status_code, page.headers["Retry-After"]) == (503, "30")
        assert "The database does not answer at the moment." in page.content.decode()
        assert 'href="/patients/"' in page.content.decode()
        signing_in = desk.post("/sign-in/", {"username": "dora", "password": "not-to-be-shown"})
        assert signing_in.status_code == 503
        assert "not-to-be-shown" not in signing_in.content.decode()
        asked = desk.get("/api/patients/", headers={"Authorization": "Bearer 0123456789"})
        assert (asked.status_code, asked.json()["detail"][:40]) == (503, "The database does not answer at the mome")
        connection.close()


@pytest.mark.django_db
def test_a_scan_that_finds_no_room_is_not_kept_by_half(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_room(*_: object) -> str:
        raise OSError(errno.ENOSPC, "No space left on device")

    prescription = a_prescription(a_patient())
    address = f"/prescriptions/{prescription.public_id}/scans/"
    upload = {"scan": SimpleUploadedFile("paper.pdf", b"%PDF-1.4\n%%EOF\n"), "said": "the left page"}
    monkeypatch.setattr(FileSystemStorage, "_save", no_room)
    answer = client().post(address, upload)
    page = answer.content.decode()
    assert (answer.status_code, hidden_fields(page)) == (507, {"said": "the left page"})
    assert "Choose the files again" in page
    assert not PrescriptionScan.objects.exists()


@pytest.mark.django_db
def test_a_scan_whose_file_is_gone_is_a_sentence_and_the_other_is_shown() -> None:
    prescription, desk = a_prescription(a_patient()), client()
    for _ in range(2):
        upload = SimpleUploadedFile("paper.pdf", b"%PDF-1.4\n%%EOF\n")
        desk.post(f"/prescriptions/{prescription.public_id}/scans/", {"scan": upload})
    gone, kept = PrescriptionScan.objects.order_by("pk")
    Path(gone.file.path).unlink()
    answer = desk.get(f"/scans/{gone.public_id}/")
    assert answer.status_code == 404
    assert "The file of this scan or photo is missing on the server." in answer.content.decode()
    assert desk.get(f"/scans/{kept.public_id}/").status_code == 200


def damaged(path: Path) -> sqlite3.DatabaseError:
    path.write_bytes(b"no database at all" * 100)
    try:
        sqlite3.connect(path).execute("SELECT 1 FROM sqlite_master")
    except sqlite3.DatabaseError as fault:
        return fault
    raise AssertionError


def test_each_fault_of_the_machine_is_known_by_what_it_came_from(tmp_path: Path) -> None:
    known: list[tuple[BaseException, Outage | None]] = [
        (damaged(tmp_path / "x"), outages.DAMAGED),
        (psycopg.errors.DiskFull(), outages.FULL),
        (psycopg.errors.ReadOnlySqlTransaction(), outages.READ_ONLY),
        (psycopg.errors.AdminShutdown(), outages.AWAY),
        (psycopg.errors.CannotConnectNow(), outages.AWAY),
        (psycopg.errors.TooManyConnections(), outages.BUSY),
        (psycopg.errors.UndefinedTable(), outages.NOT_SET_UP),
        (psycopg.errors.DataCorrupted(), outages.DAMAGED),
        (psycopg.OperationalError("connection refused"), outages.AWAY),
        (psycopg.errors.UniqueViolation(), None),
        (psycopg.errors.SyntaxError(), None),
        (OSError(errno.EROFS, "read-only"), outages.READ_ONLY),
        (OSError(errno.EPIPE, "broken pipe"), None),
        (ValueError("no such table"), None),
        (OperationalError("the server closed the connection"), outages.AWAY),
    ]
    assert [(fault, outage_of(fault)) for fault, _ in known] == known


def test_what_a_fault_was_raised_from_counts_more_than_what_wraps_it() -> None:
    wrapping = OperationalError("disk full")
    wrapping.__cause__ = psycopg.errors.DiskFull()
    assert outage_of(wrapping) is outages.FULL
    wrapping.__cause__ = psycopg.errors.QueryCanceled()
    assert outage_of(wrapping) is None


@pytest.mark.django_db
def test_a_fault_of_the_program_stays_one(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("dispensing.views.patients.render", broken)
    answer = client().get("/patients/")
    assert answer.status_code == 500
    assert "Something went wrong here" in there(answer.content.decode())
