"""The sender says that it lives, and outlives a database and a mail server that restart; nothing sent is forgotten."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import psycopg
import pytest
from django.core.management import call_command
from django.db import OperationalError, connection
from django.utils import timezone

from orders.models import Delivery, Sender
from orders.sending import outbox, worker
from orders.sending.channels.email import Mailer
from orders.sending.errors import DeliveryError, Failure
from orders.sending.heartbeat import BETWEEN_BEATS, FORGOTTEN_AFTER, SILENT_AFTER, Heartbeat, is_alive, last_seen
from tests.orders import shop

pytestmark = pytest.mark.django_db(transaction=True)
NOW = timezone.now()


def waiting() -> Delivery:
    return shop.delivery(shop.brought_to("sent"))


def state(delivery: Delivery) -> tuple[str, list[str]]:
    delivery.refresh_from_db()
    return delivery.state, list(delivery.attempts.values_list("step", flat=True))


def taken(delivery: Delivery) -> str:
    return "250 taken"


def test_a_sender_is_seen_while_it_runs_and_gone_once_it_is_stopped_and_another_stays() -> None:
    one, other = Heartbeat(), Heartbeat()
    one.beat(NOW)
    other.beat(NOW - timedelta(minutes=1))
    assert last_seen() == NOW
    one.stop()
    assert list(Sender.objects.values_list("name", flat=True)) == [other.name]
    assert last_seen() == NOW - timedelta(minutes=1)


def test_it_writes_no_more_often_than_it_must_and_keeps_the_time_it_started() -> None:
    one = Heartbeat()
    one.beat(NOW)
    one.beat(NOW + BETWEEN_BEATS - timedelta(seconds=1))
    assert last_seen() == NOW
    one.beat(NOW + BETWEEN_BEATS)
    row = Sender.objects.get()
    assert (row.started_at, row.seen_at) == (NOW, NOW + BETWEEN_BEATS)


def test_those_long_dead_are_forgotten_when_another_starts() -> None:
    for name, ago in (("long dead", FORGOTTEN_AFTER + timedelta(days=1)), ("dead", FORGOTTEN_AFTER)):
        Sender.objects.create(name=name, started_at=NOW - ago, seen_at=NOW - ago)
    Heartbeat().beat(NOW)
    assert "dead" in Sender.objects.values_list("name", flat=True)
    assert "long dead" not in Sender.objects.values_list("name", flat=True)


def test_it_is_alive_as_long_as_its_longest_attempt_may_take() -> None:
    assert is_alive(NOW - SILENT_AFTER, NOW)
    assert not is_alive(NOW - SILENT_AFTER - timedelta(seconds=1), NOW)
    assert not is_alive(None, NOW)
    assert SILENT_AFTER >= outbox.LEASE


def test_sending_once_says_that_somebody_sends() -> None:
    worker.send_due()
    assert last_seen() is None, "what the demo does in the past is nobody's running sender"
    call_command("send_orders")
    assert last_seen() is not None


def test_a_watching_sender_goes_on_when_the_database_comes_back(monkeypatch: pytest.MonkeyPatch) -> None:
    delivery, stop, claim, away = waiting(), threading.Event(), outbox.claim_next, iter([True, True, False])

    def once_away(now: Any) -> Delivery | None:
        if next(away, False):
            raise OperationalError("the database system is starting up")
        return claim(now)

    def send(mailer: Mailer, one: Delivery) -> str:
        stop.set()
        return "250 taken"

    monkeypatch.setattr(outbox, "claim_next", once_away)
    monkeypatch.setattr(Mailer, "send", send)
    worker.watch(stop, 0)
    assert state(delivery) == ("sent", ["claim", "succeed"])
    assert last_seen() is None, "a sender that was stopped in order is not taken for a dead one"


def test_another_fault_than_the_databases_is_not_swallowed(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(now: Any) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(outbox, "claim_next", broken)
    with pytest.raises(ZeroDivisionError):
        worker.watch(threading.Event(), 0)


def failing(times: int, write: Callable[..., None]) -> Callable[..., None]:
    left = iter(range(times))

    def fail(*told: Any) -> None:
        if next(left, None) is not None:
            raise OperationalError("server closed the connection unexpectedly")
        write(*told)

    return fail


def test_what_was_sent_while_the_database_was_away_is_recorded_once_it_is_back(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(worker, "PAUSES", [timedelta(0)] * 3)
    delivery, beside = waiting(), waiting()
    Delivery.objects.filter(pk=beside.pk).update(next_try_at=NOW + timedelta(days=1))
    monkeypatch.setattr(outbox, "record_sent", failing(3, outbox.record_sent))
    assert worker.send_due(senders={"email": taken}) == 1
    assert state(delivery) == ("sent", ["claim", "succeed"])
    assert state(beside) == ("queued", [])


def test_a_database_that_stays_away_ends_the_waiting_and_the_lease_does_the_rest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(worker, "PAUSES", [timedelta(0)] * 3)
    delivery = waiting()
    monkeypatch.setattr(outbox, "record_sent", failing(4, outbox.record_sent))
    with pytest.raises(OperationalError):
        worker.send_due(senders={"email": taken})
    assert state(delivery) == ("sending", ["claim"])
    outbox.expire_leases(timezone.now() + outbox.LEASE + timedelta(seconds=1))
    assert state(delivery)[0] == "unknown"


def test_a_database_that_is_away_before_anything_left_is_a_reason_to_try_again() -> None:
    delivery = waiting()

    def reads_the_record(one: Delivery) -> str:
        raise OperationalError("server closed the connection unexpectedly")

    worker.send_due(senders={"email": reads_the_record})
    assert state(delivery) == ("retry_later", ["claim", "postpone"])


@pytest.mark.postgres
def test_a_postgresql_that_cuts_the_line_while_the_mail_is_out_does_not_make_us_forget_it() -> None:
    delivery = waiting()

    def cut_off(one: Delivery) -> str:
        mine = connection.connection.info.backend_pid
        where = {name: connection.settings_dict[key] for name, key in (("dbname", "NAME"), ("user", "USER"))}
        host = connection.settings_dict["OPTIONS"].get("host") or connection.settings_dict["HOST"]
        with psycopg.connect(host=host, **where) as other:
            assert other.execute("SELECT pg_terminate_backend(%s)", [mine]).fetchone() == (True,)
        return "250 taken"

    assert worker.send_due(senders={"email": cut_off}) == 1
    assert state(delivery) == ("sent", ["claim", "succeed"])


def test_a_mail_server_that_restarts_costs_one_try(monkeypatch: pytest.MonkeyPatch) -> None:
    delivery, up = waiting(), iter([False, True])

    def send(one: Delivery) -> str:
        if next(up):
            return "250 taken"
        raise DeliveryError("The mail server cannot be reached.", Failure.TEMPORARY)

    worker.send_due(senders={"email": send})
    assert state(delivery) == ("retry_later", ["claim", "postpone"])
    assert worker.send_due(senders={"email": send}) == 0, "it is not hammered"
    Delivery.objects.update(next_try_at=timezone.now())
    worker.send_due(senders={"email": send})
    assert state(delivery) == ("sent", ["claim", "postpone", "claim", "succeed"])
