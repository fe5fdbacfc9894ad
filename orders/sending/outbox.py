"""Claiming a delivery and recording how it ended, each by conditional update: two workers never hold one row.

Must never call a channel: that happens between the two, outside any transaction.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import F

from orders.models import Delivery, DeliveryAttempt
from orders.models.deliveries import OPEN_STATES, DeliveryState
from orders.sending.channels import SENDERS
from orders.sending.errors import Failure
from orders.sending.retry import delay_after

# Longer than any channel's own time-out, so that a lease only runs out when the worker is gone.
LEASE = timedelta(minutes=5)


def claim_next(now: datetime) -> Delivery | None:
    """Take the delivery that is due longest and lease it; None when nothing is due."""
    due = Delivery.objects.filter(state__in=OPEN_STATES, next_try_at__lte=now, channel__in=list(SENDERS))
    while (row := due.order_by("next_try_at", "pk").values_list("pk", flat=True).first()) is not None:
        claimed = due.filter(pk=row).update(
            state=DeliveryState.SENDING, leased_until=now + LEASE, attempts_made=F("attempts_made") + 1
        )
        if claimed:  # else another worker was quicker; look for the next one
            return Delivery.objects.select_related("document").get(pk=row)
    return None


def record_sent(delivery: Delivery, reply: str, now: datetime) -> None:
    """It was handed over. True also of a row that meanwhile counted as unknown."""
    _record(delivery, DeliveryState.SENT, reply, done_at=now, problem="")


def record_failure(delivery: Delivery, message: str, failure: Failure, now: datetime) -> None:
    """It was not handed over, or nobody knows; decides when, and whether, it is tried again."""
    if failure is Failure.UNKNOWN:
        _record(delivery, DeliveryState.UNKNOWN, message, problem=message[:300])
        return
    delay = delay_after(delivery.attempts_made) if failure is Failure.TEMPORARY else None
    if delay is None:
        _record(delivery, DeliveryState.FAILED, message, problem=message[:300], done_at=now)
        return
    _record(delivery, DeliveryState.RETRY_LATER, message, problem=message[:300], next_try_at=now + delay)


@transaction.atomic
def _record(delivery: Delivery, state: DeliveryState, reply: str, **also: object) -> None:
    claimed = Delivery.objects.filter(
        pk=delivery.pk,
        state__in=(DeliveryState.SENDING, DeliveryState.UNKNOWN),
        attempts_made=delivery.attempts_made,
    )
    claimed.update(state=state, leased_until=None, **also)
    DeliveryAttempt.objects.create(delivery=delivery, outcome=state, reply=reply[:300])


def expire_leases(now: datetime) -> int:
    """Deliveries whose worker is gone become unknown: it may have sent them or not. Returns how many."""
    message = "The sender stopped while this was being sent; ask the lab whether it arrived."
    expired = 0
    for delivery in Delivery.objects.filter(state=DeliveryState.SENDING, leased_until__lt=now):
        with transaction.atomic():
            held = Delivery.objects.filter(
                pk=delivery.pk, state=DeliveryState.SENDING, leased_until=delivery.leased_until
            )
            if held.update(state=DeliveryState.UNKNOWN, leased_until=None, problem=message):
                DeliveryAttempt.objects.create(delivery=delivery, outcome=DeliveryState.UNKNOWN, reply=message)
                expired += 1
    return expired
