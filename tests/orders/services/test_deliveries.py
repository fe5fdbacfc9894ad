"""Deliveries are moved by one writer, along their table, with a row for every change; others stay as they were."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from orders.delivery_states import TRANSITIONS, DeliveryState, Step
from orders.models import Delivery, Order
from orders.sending import outbox
from orders.sending.by_hand import note_download, retry_delivery, settle_delivery, withhold_delivery
from orders.sending.errors import Failure
from orders.services.amending import amend_order
from orders.services.cancelling import cancel_order
from orders.services.deliveries import DeliveryMoved, NotInForce, move_delivery
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db


def waiting(channel: str = "email") -> Delivery:
    """A sent order's delivery, as it is queued; no PDF is drawn."""
    return shop.delivery(shop.brought_to("sent"), channel=channel)


def seen(delivery: Delivery) -> tuple[str, str, int, list[tuple[str, str]]]:
    row = Delivery.objects.get(pk=delivery.pk)
    rows = [(one.step, one.outcome) for one in row.attempts.all()]
    return row.state, row.problem, row.attempts_made, rows


@pytest.mark.parametrize("state", list(DeliveryState))
def test_every_step_is_taken_or_refused_by_the_table_and_only_for_this_delivery(state: Any) -> None:
    delivery, bystander = waiting(), waiting()
    Delivery.objects.update(state=state)
    before, beside = seen(delivery), seen(bystander)
    for step in Step:
        delivery.refresh_from_db()
        with transaction.atomic():
            if (state, step) in TRANSITIONS:
                after = TRANSITIONS[state, step]
                move_delivery(delivery, step, reply="Because", actor=shop.dispenser())
                assert seen(delivery) == (after, "", 0, [(step, after)])
                row = delivery.attempts.get()
                assert (row.reply, row.actor, delivery.state) == ("Because", shop.dispenser(), after)
            else:
                with pytest.raises(DeliveryMoved):
                    move_delivery(delivery, step)
                assert seen(delivery) == before
            assert seen(bystander) == beside
            transaction.set_rollback(True)


def test_who_saw_an_older_state_changes_nothing() -> None:
    delivery = waiting()
    older = Delivery.objects.get(pk=delivery.pk)
    withhold_delivery(delivery=delivery, actor=shop.dispenser(), reason="Wait for the frame")
    before = seen(delivery)
    with pytest.raises(DeliveryMoved, match="This delivery is now “Stopped by hand”"):
        move_delivery(older, Step.CLAIM)
    assert seen(delivery) == before


def test_who_saw_an_older_try_changes_nothing() -> None:
    """The same state once more, after another try: what was seen was not this one."""
    delivery = waiting()
    older = Delivery.objects.get(pk=delivery.pk)
    Delivery.objects.update(attempts_made=1)
    with pytest.raises(DeliveryMoved):
        move_delivery(older, Step.HOLD_BACK)
    assert seen(delivery) == ("queued", "", 1, [])


@pytest.mark.parametrize("end", ["cancelled", "superseded"])
def test_what_still_waits_of_an_order_that_came_out_of_force_is_called_off_with_a_row_that_says_why(end: str) -> None:
    order, bystander = sent(), sent(patient=shop.patient("P-90041"))
    delivery, beside = order.documents.get().deliveries.get(), bystander.documents.get().deliveries.get()
    untouched = seen(beside)
    if end == "cancelled":
        cancel_order(order=order, actor=shop.dispenser(), reason="Patient moved away")
        why = "The order was cancelled."
    else:
        revision = amend_order(order=order, actor=shop.dispenser())
        send_order(order=revision, actor=shop.dispenser(), version=1)
        why = "Replaced by revision 2"
    assert seen(delivery) == ("withheld", why, 0, [("call_off", "withheld")])
    row = delivery.attempts.get()
    assert (row.reply, row.actor) == (why, shop.dispenser())
    assert Delivery.objects.get(pk=delivery.pk).done_at is not None
    assert seen(beside) == untouched == ("queued", "", 0, [])


def sent(**fields: Any) -> Order:
    order = shop.draft(**fields)
    send_order(order=order, actor=shop.dispenser(), version=1)
    return Order.objects.get(pk=order.pk)


@pytest.mark.parametrize("state", ["sent", "failed", "unknown", "withheld"])
def test_what_does_not_wait_any_more_is_not_called_off(state: str) -> None:
    delivery = waiting()
    Delivery.objects.update(state=state)
    cancel_order(order=delivery.document.order, actor=shop.dispenser(), reason="Patient moved away")
    assert seen(delivery) == (state, "", 0, [])


@pytest.mark.parametrize("place", ["cancelled", "superseded"])
def test_a_cancelled_or_superseded_order_is_not_sent_again_by_hand(place: str) -> None:
    delivery, bystander = waiting(), waiting()
    Delivery.objects.update(state="withheld")
    Order.objects.filter(pk=delivery.document.order_id).update(state=place)
    for one in (delivery, bystander):
        one.refresh_from_db()
    with pytest.raises(NotInForce, match=f"is {place}; it is not sent again"):
        retry_delivery(delivery=delivery, actor=shop.dispenser())
    assert seen(delivery)[0] == "withheld"
    retry_delivery(delivery=bystander, actor=shop.dispenser())
    assert seen(bystander)[0] == "queued"


def test_a_try_that_fails_after_its_order_was_cancelled_is_not_repeated() -> None:
    delivery, bystander = waiting(), waiting()
    now = timezone.now()
    claimed = [outbox.claim_next(now), outbox.claim_next(now)]
    cancel_order(order=delivery.document.order, actor=shop.dispenser(), reason="Patient moved away")
    assert seen(delivery)[0] == "sending", "nobody can stop what is on its way"
    for one in claimed:
        outbox.record_failure(there(one), "451 try later", Failure.TEMPORARY, now)
    assert seen(delivery) == ("withheld", "451 try later", 1, [("claim", "sending"), ("stop", "withheld")])
    assert Delivery.objects.get(pk=delivery.pk).done_at == now
    assert seen(bystander) == ("retry_later", "451 try later", 1, [("claim", "sending"), ("postpone", "retry_later")])
    assert outbox.claim_next(now + timedelta(days=1)) == Delivery.objects.get(message="withdrawal"), "it may arrive"
    assert outbox.claim_next(now + timedelta(days=1)) == bystander


def test_a_try_that_ends_after_a_person_settled_it_changes_nothing_and_is_kept() -> None:
    delivery = waiting()
    now = timezone.now()
    claimed = outbox.claim_next(now)
    outbox.expire_leases(now + outbox.LEASE + timedelta(seconds=1))
    settle_delivery(delivery=Delivery.objects.get(pk=delivery.pk), actor=shop.dispenser(), note="Lab has it by phone")
    outbox.record_failure(there(claimed), "550 no such mailbox", Failure.PERMANENT, now)
    state, problem, tries, rows = seen(delivery)
    assert (state, problem, tries) == ("sent", "Lab has it by phone", 1)
    assert rows == [("claim", "sending"), ("expire", "unknown"), ("settle", "sent"), ("give_up", "sent")]
    assert there(delivery.attempts.last()).reply == "Came too late to count. 550 no such mailbox"


def test_an_old_try_does_not_speak_for_the_next_one() -> None:
    """The lease ran out, a person sent it again, and the second sender has it: the first one's word is only kept."""
    delivery = waiting()
    now = timezone.now()
    first = outbox.claim_next(now)
    outbox.expire_leases(now + outbox.LEASE + timedelta(seconds=1))
    retry_delivery(delivery=Delivery.objects.get(pk=delivery.pk), actor=shop.dispenser())
    Delivery.objects.update(attempts_made=1)
    second = outbox.claim_next(timezone.now())
    outbox.record_sent(there(first), "250 taken", now)
    assert seen(delivery)[0] == "sending"
    assert there(delivery.attempts.last()).reply == "Came too late to count. 250 taken"
    outbox.record_sent(there(second), "250 taken", now)
    assert seen(delivery)[0] == "sent"


def test_what_people_do_is_kept_with_their_names() -> None:
    delivery = waiting()
    who = shop.dispenser("ravi", "Ravi", "Shah")
    withhold_delivery(delivery=delivery, actor=who, reason="Wait for the frame")
    retry_delivery(delivery=delivery, actor=shop.dispenser())
    rows = [(row.step, there(row.actor).username, row.reply) for row in delivery.attempts.all()]
    assert rows == [("hold_back", "ravi", "Wait for the frame"), ("retry", "dana", "")]


@pytest.mark.parametrize(("channel", "state"), [("email", "queued"), ("download", "sent"), ("download", "withheld")])
def test_only_what_waits_to_be_passed_on_by_hand_is_noted_as_passed_on(channel: str, state: str) -> None:
    delivery = waiting(channel)
    Delivery.objects.update(state=state)
    delivery.refresh_from_db()
    with pytest.raises(DeliveryMoved):
        note_download(delivery=delivery, actor=shop.dispenser())
    assert seen(delivery) == (state, "", 0, [])


def test_documents_passed_on_by_hand_are_with_the_lab() -> None:
    delivery, bystander = waiting("download"), waiting("download")
    note_download(delivery=delivery, actor=shop.dispenser())
    assert seen(delivery) == ("sent", "", 0, [("carry", "sent")])
    assert seen(bystander)[0] == "queued"
