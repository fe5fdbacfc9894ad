"""The chain takes in every row that was written, once, and its newest seal is noted elsewhere once a day."""

from __future__ import annotations

import os
import threading
from contextlib import nullcontext
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.core import mail
from django.core.management import call_command
from django.db import OperationalError, connection, transaction
from django.utils import timezone
from pytest_django import Settings

from dispensing.doctor.walk import Walk
from dispensing.evidence import sealing
from dispensing.evidence.broken import breaks, tail
from dispensing.evidence.chain import packed, row_hash, unpacked
from dispensing.evidence.heads import newest, noted
from dispensing.evidence.sealing import ROWS_OF_A_SEAL, Sealer
from dispensing.models import AuditEvent, Seal
from dispensing.services.audit import record
from dispensing.watchman import Watchman
from orders.sending import worker
from tests.known import there

TRAIL = "dispensing_auditevent"
pytestmark = pytest.mark.django_db


def written(count: int = 1) -> list[int]:
    return [record(actor=None, verb="patient.register").pk for _ in range(count)]


def sealed() -> list[int]:
    seals = Seal.objects.filter(table=TRAIL).order_by("number")
    return [key for seal in seals for key, _ in unpacked(bytes(seal.entries))]


def test_each_row_is_sealed_once_and_the_tail_is_counted() -> None:
    first = written(3)
    assert tail()[0] == 3
    assert (Sealer().seal(), Sealer().seal()) == (1, 0)
    assert (sealed(), tail()) == (first, (0, None))
    second = written(2)
    assert tail() == (2, AuditEvent.objects.get(pk=second[0]).at)
    assert Sealer().seal() == 1
    assert sealed() == [*first, *second]


def test_many_rows_are_sealed_in_batches_and_a_round_is_bounded() -> None:
    AuditEvent.objects.bulk_create(AuditEvent(verb="patient.register") for _ in range(2 * ROWS_OF_A_SEAL + 1))
    assert Sealer().seal(most=2) == 2
    assert tail()[0] == 1
    assert Sealer().seal() == 1
    assert len(sealed()) == 2 * ROWS_OF_A_SEAL + 1


def test_the_look_at_a_seal_asks_the_same_number_of_questions_however_many_rows_it_is_about(
    django_assert_num_queries: Any,
) -> None:
    for rows in (2, 40):
        written(rows)
        Sealer().seal()
        newest_alone = Walk(since=there(Seal.objects.order_by("-number").first()).sealed_at)
        with django_assert_num_queries(5):  # how many seals, a batch, the one before, where it began, its rows
            assert list(breaks(newest_alone)) == []


def test_of_two_sealers_one_adds_the_seal() -> None:
    (key,) = written()
    start = sealing.BEFORE_EVERY_KEY
    assert sealing._add(TRAIL, start, key) is not None
    assert sealing._add(TRAIL, start, key) is None
    assert sealed() == [key]


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
def test_a_row_that_commits_late_is_waited_for_and_nobody_who_writes_waits() -> None:
    sealer, may_commit, is_written = Sealer(), threading.Event(), threading.Event()
    keys: list[int] = []

    def slow() -> None:
        with transaction.atomic():
            keys.extend(written())
            is_written.set()
            may_commit.wait(30)
        connection.close()

    writer = threading.Thread(target=slow)
    writer.start()
    assert is_written.wait(30)
    keys += written()
    assert (sealer.seal(), sealer.seal(), sealed()) == (0, 0, [])
    may_commit.set()
    writer.join()
    assert sealer.seal() == 1
    assert sealed() == sorted(keys)


@pytest.mark.parametrize(
    ("values", "alike"),
    [
        ({"id": 7, "note": "Late", "later_column": None}, True),
        ({"id": 7, "note": "Late", "later_column": ""}, True),
        ({"id": 7, "note": "Late", "later_column": "x"}, False),
        ({"id": 7, "note": "late"}, False),
        ({"id": 8, "note": "Late"}, False),
    ],
)
def test_a_hash_is_of_what_the_columns_say(values: dict[str, object], alike: bool) -> None:
    assert (row_hash("t", values) == row_hash("t", {"id": 7, "note": "Late"})) is alike
    assert row_hash("u", values) != row_hash("t", values)


def test_a_hash_does_not_depend_on_how_a_database_returns_a_value() -> None:
    noon = datetime(2026, 11, 30, 12, 0, tzinfo=UTC)
    elsewhere = noon.astimezone(timezone.get_fixed_timezone(120))
    assert row_hash("t", {"at": noon, "d": Decimal("1.50")}) == row_hash("t", {"at": elsewhere, "d": Decimal("1.5")})
    assert row_hash("t", {"on": date(2026, 11, 30)}) != row_hash("t", {"on": date(2026, 12, 1)})


def test_what_is_packed_is_unpacked() -> None:
    entries = [(-7, b"a" * 32), (2**62, b"b" * 32)]
    assert list(unpacked(packed(entries))) == entries


def test_the_newest_seal_is_noted_once_a_day_in_a_file_that_only_we_read_and_mailed(settings: Settings) -> None:
    settings.SEALS_MAILED_TO = ["accountant@practice.invalid"]
    path, now = Path(settings.SEALS_FILE), timezone.now()
    written()
    Watchman().round(now)
    first = newest()
    assert list(noted(path)) == [first]
    assert path.stat().st_mode & 0o077 == 0
    written()
    Watchman().round(now)  # a sender that was started anew
    assert list(noted(path)) == [first]
    two_days_ago = now.timestamp() - timedelta(days=2).total_seconds()
    os.utime(path, (two_days_ago, two_days_ago))
    Watchman().round(now)
    assert list(noted(path)) == [first, newest()]
    assert first is not None
    assert [message.to for message in mail.outbox] == [settings.SEALS_MAILED_TO] * 2
    assert f"doctor --head {first.number}:{first.sha256}" in str(mail.outbox[0].body)


def test_a_sender_seals_twice_a_minute_and_at_once_as_long_as_there_is_more(monkeypatch: pytest.MonkeyPatch) -> None:
    watchman, now = Watchman(), timezone.now()
    for seconds, left in ((0.0, 0), (29.9, 1), (30.0, 0)):
        written()
        watchman.round(now + timedelta(seconds=seconds))
        assert tail()[0] == left, seconds
    monkeypatch.setattr("dispensing.watchman.SEALS_AT_ONCE", 1)
    for seconds in (60.0, 60.1):
        written()
        watchman.round(now + timedelta(seconds=seconds))
        assert tail()[0] == 0


def test_a_head_that_cannot_be_noted_stops_nothing(settings: Settings, caplog: pytest.LogCaptureFixture) -> None:
    settings.SEALS_FILE = Path(settings.SEALS_FILE) / "in" / "no" / "folder"
    written()
    Watchman().round(timezone.now())
    assert tail()[0] == 0
    assert "could not be noted by file" in caplog.text


def test_the_command_that_sends_seals_too() -> None:
    (key,) = written()
    call_command("send_orders")
    assert sealed() == [key]


@pytest.mark.parametrize(("fault", "goes_on"), [(PermissionError("uploads"), True), (OperationalError("away"), False)])
def test_a_round_that_breaks_is_logged_and_ends_no_sending_but_a_database_that_is_away_is_waited_for(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture, fault: Exception, goes_on: bool
) -> None:
    def broken(self: Watchman, now: datetime) -> None:
        raise fault

    monkeypatch.setattr(Watchman, "round", broken)
    with nullcontext() if goes_on else pytest.raises(OperationalError):
        worker._round(Watchman())
    assert ("sending goes on" in caplog.text) is goes_on
