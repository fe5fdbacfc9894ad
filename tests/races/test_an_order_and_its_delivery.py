"""Two people, or a person and the sender, act on one pair or its delivery at once. Shown to happen, then prevented."""

from __future__ import annotations

import threading
from datetime import timedelta

import pytest
from django.utils import timezone

from orders.delivery_states import OPEN, DeliveryState
from orders.models import Delivery, Order, OrderEvent
from orders.models.deliveries import Message
from orders.progress import CannotHappen, EventKind
from orders.sending import outbox
from orders.sending.by_hand import retry_delivery
from orders.sending.errors import Failure
from orders.services.cancelling import cancel_order
from orders.services.deliveries import DeliveryMoved, NotInForce
from orders.services.events import record_event
from orders.states import OrderState
from tests.known import there
from tests.orders import shop
from tests.people import person
from tests.races.test_two_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)

PEOPLE = ("ravi", "ines")


@pytest.fixture
def ready() -> Order:
    for who in PEOPLE:
        person(who)
    return shop.brought_to("ready to collect")


def hand_over(order: Order, which: int) -> OrderEvent:
    return record_event(order=order, kind=EventKind.HANDED_OVER, actor=person(PEOPLE[which]))


def told(order: Order) -> list[str]:
    return list(order.events.order_by("pk").values_list("kind", flat=True))


def test_noting_what_was_read_as_ready_hands_one_pair_over_twice(ready: Order) -> None:
    def careless(barrier: threading.Barrier, which: int) -> OrderEvent:
        mine = Order.objects.get(pk=ready.pk)
        assert mine.place == "ready to collect"
        barrier.wait()
        return OrderEvent.objects.create(order=mine, kind=EventKind.HANDED_OVER, at=timezone.now(), actor=None)

    at_once(careless)
    assert told(ready).count("handed over") == 2


def test_of_two_who_hand_a_pair_over_one_does_and_the_other_is_told(ready: Order) -> None:
    bystander = shop.brought_to("ready to collect")

    def act(barrier: threading.Barrier, which: int) -> OrderEvent:
        mine = Order.objects.get(pk=ready.pk)
        barrier.wait()
        return hand_over(mine, which)

    results = at_once(act)
    (refused,) = [result for result in results if isinstance(result, CannotHappen)]
    assert "at “handed over”" in str(refused)
    assert told(ready).count("handed over") == 1
    assert Order.objects.get(pk=bystander.pk).place == "ready to collect"


def test_a_pair_is_either_handed_over_or_its_order_cancelled_and_never_both(ready: Order) -> None:
    def act(barrier: threading.Barrier, which: int) -> object:
        mine = Order.objects.get(pk=ready.pk)
        barrier.wait()
        if which == 0:
            return hand_over(mine, which)
        return cancel_order(order=mine, actor=person("ines"), reason="Never collected")

    results = at_once(act)
    (refused,) = [result for result in results if isinstance(result, Exception)]
    assert isinstance(refused, CannotHappen)
    row = Order.objects.get(pk=ready.pk)
    assert (row.state, row.place) in ((OrderState.SENT, "handed over"), (OrderState.CANCELLED, "cancelled"))
    assert told(row)[-1] == row.place
    assert ("handed over" in told(row)) != ("cancelled" in told(row))


@pytest.fixture
def waiting() -> Delivery:
    for who in PEOPLE:
        person(who)
    return shop.delivery(shop.brought_to("sent"))


def cancel(delivery: Delivery, barrier: threading.Barrier) -> Order:
    mine = Order.objects.get(pk=delivery.document.order_id)
    barrier.wait()
    return cancel_order(order=mine, actor=person("ines"), reason="Patient moved away")


def test_a_failed_try_put_back_into_the_outbox_unseen_outlives_the_cancelling(waiting: Delivery) -> None:
    """Whether the order is in force is read before, and the delivery written after, it was cancelled."""
    Delivery.objects.update(state=DeliveryState.SENDING)

    def careless(barrier: threading.Barrier, which: int) -> object:
        if which == 1:
            cancelled = cancel(waiting, barrier)
            barrier.wait()
            return cancelled
        in_force = Order.objects.get(pk=waiting.document.order_id).state == OrderState.SENT
        barrier.wait()
        barrier.wait()
        return in_force and Delivery.objects.filter(pk=waiting.pk).update(state=DeliveryState.RETRY_LATER)

    at_once(careless)
    assert Order.objects.get().state == OrderState.CANCELLED
    assert Delivery.objects.get(pk=waiting.pk).state in OPEN


def test_no_failed_try_outlives_the_cancelling_of_its_order(waiting: Delivery) -> None:
    now = timezone.now()
    claimed = outbox.claim_next(now)

    def act(barrier: threading.Barrier, which: int) -> object:
        if which == 1:
            return cancel(waiting, barrier)
        barrier.wait()
        outbox.record_failure(there(claimed), "451 try later", Failure.TEMPORARY, now)
        return None

    assert [result for result in at_once(act) if isinstance(result, Exception)] == []
    assert Delivery.objects.get(pk=waiting.pk).state == DeliveryState.WITHHELD
    left = outbox.claim_next(now + timedelta(days=9))
    assert left is None or left.message == Message.WITHDRAWAL
    steps = list(waiting.attempts.values_list("step", flat=True))
    assert steps in (["claim", "stop"], ["claim", "postpone", "call_off"])


def test_an_order_is_either_taken_up_to_be_sent_or_called_off(waiting: Delivery) -> None:
    def act(barrier: threading.Barrier, which: int) -> object:
        if which == 1:
            return cancel(waiting, barrier)
        barrier.wait()
        return outbox.claim_next(timezone.now())

    assert [result for result in at_once(act) if isinstance(result, Exception)] == []
    found = Delivery.objects.get(pk=waiting.pk).state, list(waiting.attempts.values_list("step", flat=True))
    assert found in (("sending", ["claim"]), ("withheld", ["call_off"]))


def test_an_order_is_never_sent_again_by_hand_while_it_is_cancelled(waiting: Delivery) -> None:
    Delivery.objects.update(state=DeliveryState.FAILED)

    def act(barrier: threading.Barrier, which: int) -> object:
        if which == 1:
            return cancel(waiting, barrier)
        mine = Delivery.objects.get(pk=waiting.pk)
        barrier.wait()
        retry_delivery(delivery=mine, actor=person("ravi"))
        return None

    refused = [result for result in at_once(act) if isinstance(result, Exception)]
    assert all(isinstance(error, NotInForce | DeliveryMoved) for error in refused)
    assert Order.objects.get().state == OrderState.CANCELLED
    assert Delivery.objects.get(pk=waiting.pk).state == (DeliveryState.FAILED if refused else DeliveryState.WITHHELD)
