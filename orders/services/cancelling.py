"""Cancelling an order, with a reason; what was still waiting in the outbox is not sent."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.models import Delivery, Order
from orders.models.deliveries import OPEN_STATES, DeliveryState
from orders.progress import EventKind
from orders.services.events import record_event
from orders.services.transition import move
from orders.states import Action


@transaction.atomic
def cancel_order(*, order: Order, actor: StaffUser, reason: str) -> Order:
    """Cancel a draft or a sent order. Raises `ValidationError` without a reason, `NotAllowed`.

    The lab of a sent order is not told by this; the person who cancels tells it.
    """
    reason = reason.strip()
    if not reason:
        raise ValidationError({"reason": "Say why the order is cancelled."})
    if len(reason) > 500:
        raise ValidationError({"reason": f"The reason has {len(reason)} letters; 500 are allowed."})
    move(order, Action.CANCEL, actor=actor)
    record_event(order=order, kind=EventKind.CANCELLED, actor=actor, note=reason)
    Delivery.objects.filter(document__order=order, state__in=OPEN_STATES).update(
        state=DeliveryState.WITHHELD, problem="The order was cancelled.", done_at=timezone.now()
    )
    record(actor=actor, verb="order.cancel", target=order, patient=order.patient, changes={"reason": [None, reason]})
    return order
