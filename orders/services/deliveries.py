"""Moves a delivery from state to state: the only writer of ``Delivery.state``, with a row for every change.

Whatever moves a delivery locks its order's row, so an order is never cancelled between checking that it is in force
and the step that depends on it.
"""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.utils import timezone

from dispensing.models import StaffUser
from orders.delivery_states import OPEN, SENDS_AGAIN, STATE_LABELS, TRANSITIONS, DeliveryState, Step, may
from orders.models import Delivery, DeliveryAttempt, Order
from orders.models.deliveries import Message
from orders.states import LABELS, OrderState

LONGEST_REPLY = 300


class DeliveryMoved(ValueError):
    """The delivery is not in the expected state; nothing was done."""

    def __init__(self, delivery: Delivery):
        delivery.refresh_from_db()
        self.delivery = delivery
        super().__init__(f"This delivery is now “{STATE_LABELS[DeliveryState(delivery.state)]}”. Look at it again.")


class NotInForce(ValueError):
    """An order that was cancelled or superseded is not sent to a lab again."""

    def __init__(self, order: Order):
        super().__init__(f"Order {order.number} is {LABELS[OrderState(order.state)].lower()}; it is not sent again.")


@transaction.atomic
def move_delivery(
    delivery: Delivery, step: Step, *, reply: str = "", actor: StaffUser | None = None, **also: Any
) -> None:
    """Take the step by conditional update and add its row; ``also``: fields that go with it.

    Raises `DeliveryMoved` if the step cannot follow, including when somebody else was quicker, and `NotInForce` if it
    would send an order that is no longer in force.
    """
    order = order_held(delivery)
    before = DeliveryState(delivery.state)
    if step in SENDS_AGAIN and not holds(delivery, order):
        raise NotInForce(order)
    if not may(before, step):
        raise DeliveryMoved(delivery)
    wanted = {"state": TRANSITIONS[before, step].value, "leased_until": None} | also
    here = Delivery.objects.filter(pk=delivery.pk, state=before.value, attempts_made=delivery.attempts_made)
    if here.update(**wanted) == 0:
        raise DeliveryMoved(delivery)
    for name, value in wanted.items():
        setattr(delivery, name, value)
    add_row(delivery, step, reply, actor)


def holds(delivery: Delivery, order: Order) -> bool:
    """Whether what the delivery tells the lab is still so: an order or an answer while the order is in force, and the
    withdrawal of one that is not.
    """
    return (order.state == OrderState.SENT) != (delivery.message == Message.WITHDRAWAL)


def order_held(delivery: Delivery) -> Order:
    """The delivery's order as it now is; nobody else can change it or its deliveries until the transaction ends."""
    return Order.objects.select_for_update(of=("self",)).get(documents__deliveries=delivery)


def add_row(delivery: Delivery, step: Step, reply: str, actor: StaffUser | None = None) -> None:
    """Add a row about the delivery as it now is."""
    DeliveryAttempt.objects.create(
        delivery=delivery, step=step.value, outcome=delivery.state, reply=reply[:LONGEST_REPLY], actor=actor
    )


def call_off(order: Order, actor: StaffUser | None, why: str) -> None:
    """Stop what is still waiting for an order no longer in force. Call it in the transaction that moved the order."""
    now = timezone.now()
    waiting = Delivery.objects.filter(document__order=order, state__in=OPEN).exclude(message=Message.WITHDRAWAL)
    for delivery in waiting:
        move_delivery(delivery, Step.CALL_OFF, reply=why, actor=actor, problem=why[:LONGEST_REPLY], done_at=now)
