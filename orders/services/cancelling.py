"""Cancels an order, with a reason; what still waited in the outbox is not sent, and a lab that has it is told."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import transaction

from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.models import Order
from orders.progress import EventKind
from orders.services.deliveries import call_off
from orders.services.events import record_event
from orders.services.transition import move
from orders.services.ways_out import tell_of_withdrawal
from orders.states import Action


@transaction.atomic
def cancel_order(*, order: Order, actor: StaffUser, reason: str) -> Order:
    """Cancel a draft or a sent order. Raises `ValidationError` without a reason, `NotAllowed`, and `CannotHappen`
    if the pair has been handed over.

    A lab that has the order, or may have it, is told by its own way not to make it, and asked to acknowledge that.
    """
    reason = reason.strip()
    if not reason:
        raise ValidationError({"reason": "Say why the order is cancelled."})
    if len(reason) > 500:
        raise ValidationError({"reason": f"The reason has {len(reason)} characters; at most 500 are allowed."})
    move(order, Action.CANCEL, actor=actor)
    cancelled = record_event(order=order, kind=EventKind.CANCELLED, actor=actor, note=reason)
    call_off(order, actor, "The order was cancelled.")
    tell_of_withdrawal(order, cancelled)
    record(actor=actor, verb="order.cancel", target=order, patient=order.patient, changes={"reason": [None, reason]})
    return order
