"""Claims a delivery and records how it ended, each by conditional update, so that two workers never hold one row.

This module must never call a channel: that happens between the two steps, outside any transaction.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from orders.delivery_states import OPEN, DeliveryState, Step, may
from orders.models import Delivery
from orders.sending.channels import SENDERS
from orders.sending.errors import Failure
from orders.sending.retry import delay_after
from orders.services.deliveries import DeliveryMoved, add_row, move_delivery, order_held
from orders.states import OrderState

# Longer than any channel's own time-out, so that a lease runs out only if the worker is gone.
LEASE = timedelta(minutes=5)


def claim_next(now: datetime) -> Delivery | None:
    """Take the delivery that has been due longest and lease it; None if nothing is due."""
    due = Delivery.objects.filter(state__in=OPEN, next_try_at__lte=now, channel__in=list(SENDERS))
    due = due.select_related("document").order_by("next_try_at", "pk")
    while (delivery := due.first()) is not None:
        try:
            tries = delivery.attempts_made + 1
            move_delivery(delivery, Step.CLAIM, leased_until=now + LEASE, attempts_made=tries)
        except DeliveryMoved:
            continue  # another worker was quicker; look for the next one
        return delivery
    return None


def record_sent(delivery: Delivery, reply: str, now: datetime) -> None:
    """Record that the delivery was handed over. This also applies to a row that meanwhile became unknown."""
    _record(delivery, Step.SUCCEED, reply, now, done_at=now, problem="")


def record_failure(delivery: Delivery, message: str, failure: Failure, now: datetime) -> None:
    """Record that it was not handed over, or that nobody knows, and decide whether and when to retry."""
    problem = message[:300]
    if failure is Failure.UNKNOWN:
        _record(delivery, Step.LOSE, message, now, problem=problem)
        return
    delay = delay_after(delivery.attempts_made) if failure is Failure.TEMPORARY else None
    if delay is None:
        _record(delivery, Step.GIVE_UP, message, now, problem=problem, done_at=now)
        return
    _record(delivery, Step.POSTPONE, message, now, problem=problem, next_try_at=now + delay)


@transaction.atomic
def _record(delivery: Delivery, step: Step, reply: str, now: datetime, **also: Any) -> None:
    """Record the end of an attempt. If a person has meanwhile settled or resent the delivery, that counts, but a row
    still says how the attempt ended. An order that is no longer in force is not retried.
    """
    tries, order = delivery.attempts_made, order_held(delivery)
    delivery.refresh_from_db(fields=["state", "attempts_made"])
    if delivery.attempts_made != tries or not may(delivery.state, step):
        add_row(delivery, step, f"Came too late to count. {reply}")
        return
    if step is Step.POSTPONE and order.state != OrderState.SENT:
        step, also = Step.STOP, {"problem": also["problem"], "done_at": now}
    move_delivery(delivery, step, reply=reply, **also)


def expire_leases(now: datetime) -> int:
    """Mark deliveries whose worker is gone as unknown: it may or may not have sent them. Returns how many."""
    message = "The sender stopped while this was being sent; ask the lab whether it arrived."
    expired = 0
    for delivery in Delivery.objects.filter(state=DeliveryState.SENDING, leased_until__lt=now):
        try:
            move_delivery(delivery, Step.EXPIRE, reply=message, problem=message)
        except DeliveryMoved:
            continue  # the sender was merely slow and has just recorded how it ended
        expired += 1
    return expired
