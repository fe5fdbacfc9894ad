"""A clock that is set back hides no waiting order, holds no lease for ever, and lets no dead sender look alive."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from orders.models import Delivery
from orders.sending import outbox, worker
from orders.sending.heartbeat import SILENT_AFTER, Heartbeat, is_alive, last_seen
from orders.sending.retry import DELAYS
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db(transaction=True)
NOW = timezone.now()
AN_HOUR = timedelta(hours=1)


def delivery(state: str, **fields: object) -> Delivery:
    row = shop.delivery(shop.brought_to("sent"), state)
    Delivery.objects.filter(pk=row.pk).update(**fields)
    return row


def test_an_order_queued_before_the_clock_was_set_back_is_sent_and_a_later_try_waits_on() -> None:
    queued = delivery("queued", queued_at=NOW + AN_HOUR, next_try_at=NOW + AN_HOUR)
    waits = delivery("retry_later", queued_at=NOW - AN_HOUR, next_try_at=NOW + AN_HOUR)
    assert outbox.claim_next(NOW) is None, "as long as nobody looks at the clock"
    assert outbox.after_a_clock_set_back(NOW) == 1
    assert there(outbox.claim_next(NOW)).pk == queued.pk
    assert outbox.claim_next(NOW) is None
    waits.refresh_from_db()
    assert waits.next_try_at == NOW + AN_HOUR


def test_a_try_further_away_than_any_delay_is_due_and_one_at_the_longest_delay_is_not() -> None:
    far = delivery("retry_later", queued_at=NOW - AN_HOUR, next_try_at=NOW + DELAYS[-1] + timedelta(seconds=1))
    longest = delivery("retry_later", queued_at=NOW - AN_HOUR, next_try_at=NOW + DELAYS[-1])
    assert outbox.after_a_clock_set_back(NOW) == 1
    assert [row.next_try_at for row in Delivery.objects.filter(pk__in=[far.pk, longest.pk]).order_by("pk")] == [
        NOW,
        NOW + DELAYS[-1],
    ]


def test_what_is_no_longer_waiting_is_left_alone() -> None:
    sent = delivery("sent", queued_at=NOW + AN_HOUR, next_try_at=NOW + AN_HOUR)
    assert outbox.after_a_clock_set_back(NOW) == 0
    sent.refresh_from_db()
    assert sent.next_try_at == NOW + AN_HOUR


def test_a_lease_lasts_no_longer_than_a_lease() -> None:
    held = delivery("sending", leased_until=NOW + AN_HOUR)
    fresh = delivery("sending", leased_until=NOW + outbox.LEASE)
    assert outbox.after_a_clock_set_back(NOW) == 1
    for row in (held, fresh):
        row.refresh_from_db()
        assert row.leased_until == NOW + outbox.LEASE


def test_the_sender_looks_at_the_clock_by_itself() -> None:
    queued = delivery("queued", queued_at=NOW + AN_HOUR, next_try_at=timezone.now() + AN_HOUR)
    assert worker.send_due(senders={"email": lambda one: "250 taken"}) == 1
    queued.refresh_from_db()
    assert queued.state == "sent"


def test_a_sender_writes_at_once_after_the_clock_was_set_back_and_a_dead_one_is_found_out() -> None:
    one = Heartbeat()
    one.beat(NOW + AN_HOUR)
    assert is_alive(NOW + SILENT_AFTER, NOW)
    assert not is_alive(NOW + SILENT_AFTER + timedelta(seconds=1), NOW)
    one.beat(NOW)
    assert last_seen() == NOW
