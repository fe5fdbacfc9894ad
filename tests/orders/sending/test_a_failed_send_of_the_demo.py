"""The demo's order that did not get through: tried for real, given up, and sent once the mail server answers."""

from __future__ import annotations

import pytest
from django.core import mail
from django.utils import timezone

from orders.demo.clock import days_ago
from orders.demo.mail import deliver, try_in_vain
from orders.models import Delivery, DeliveryAttempt
from orders.sending.by_hand import retry_delivery
from orders.sending.retry import DELAYS
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def failed() -> Delivery:
    order = shop.draft()
    with days_ago(3):
        send_order(order=order, actor=shop.dispenser(), version=order.version)
    try_in_vain(order)
    return Delivery.objects.get()


def test_it_was_tried_at_each_delay_of_the_outbox_and_then_given_up(failed: Delivery) -> None:
    assert (failed.state, failed.problem) == ("failed", "The mail server cannot be reached (Connection refused).")
    tries = list(DeliveryAttempt.objects.order_by("pk").values_list("step", flat=True))
    assert tries == [*["claim", "postpone"] * len(DELAYS), "claim", "give_up"]
    assert there(failed.done_at) < timezone.now()
    assert mail.outbox == []


def test_a_person_sends_it_again_and_it_goes_out(failed: Delivery) -> None:
    retry_delivery(delivery=failed, actor=shop.dispenser())
    deliver()
    assert Delivery.objects.get().state == "sent"
    assert [message.to for message in mail.outbox] == [[failed.address]]
