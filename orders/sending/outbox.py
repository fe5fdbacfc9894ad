"""Claims a delivery and records how it ended, each by conditional update, so that two workers never hold one row.

This module must never call a channel: that happens between the two steps, outside any transaction.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet

from orders.delivery_states import OPEN, DeliveryState, Step, may
from orders.models import Delivery
from orders.models.deliveries import Message
from orders.sending.channels import REPEATS_SAFELY, SENDERS
from orders.sending.errors import Failure
from orders.sending.retry import DELAYS, delay_after
from orders.services.deliveries import DeliveryMoved, add_row, holds, move_delivery, order_held
from orders.services.notices import is_quiet, note_told

# Longer than any channel's own time-out, so that a lease runs out only if the worker is gone.
LEASE = timedelta(minutes=5)
AT_HAND = 8
"""How many are looked up at once: of several workers each takes one, and few find them all gone."""


def claim_next(now: datetime) -> Delivery | None:
    """Take the delivery that has been due longest and lease it; None if nothing is due. Patients are left in peace."""
    while keys := _due_longest(now):
        for key in keys:
            delivery = Delivery.objects.select_related("document").get(pk=key)
            try:
                tries = delivery.attempts_made + 1
                move_delivery(delivery, Step.CLAIM, leased_until=now + LEASE, attempts_made=tries)
            except DeliveryMoved:
                continue  # another worker was quicker; look at the next one
            return delivery
    return None


def _due_longest(now: datetime) -> list[int]:
    """The keys of a few that have been due longest, in order, for as many workers as may be after the first.

    Asked for each state and way by itself, for so each is the beginning of an index; of all together a database would
    sort everything that is due.
    """
    found: list[tuple[datetime, int]] = []
    resting = {"message": Message.NOTICE} if is_quiet(now) else {}
    for state in OPEN:
        for channel in SENDERS:
            due = due_by(state, channel, now)
            due = due.exclude(**resting) if resting else due
            found += due.values_list("next_try_at", "pk")[:AT_HAND]
    return [key for _, key in sorted(found)[:AT_HAND]]


def due_by(state: str, channel: str, now: datetime) -> QuerySet[Delivery]:
    """What is due in this state by this way, that which has been due longest first."""
    due = Delivery.objects.filter(state=state, channel=channel, next_try_at__lte=now)
    return due.order_by("next_try_at", "pk")


def after_a_clock_set_back(now: datetime) -> int:
    """Make due what a clock that was set back would hide until it has caught up; returns how many.

    A wait longer than any delay, or one that began in the future, was not meant. A lease never lasts longer than a
    lease.
    """
    hidden = Delivery.objects.order_by().filter(state__in=OPEN, next_try_at__gt=now)
    hidden = hidden.filter(Q(next_try_at__gt=now + DELAYS[-1]) | Q(queued_at__gt=now))
    held = Delivery.objects.order_by().filter(state=DeliveryState.SENDING, leased_until__gt=now + LEASE)
    found = hidden.update(next_try_at=now) if hidden.exists() else 0
    return found + (held.update(leased_until=now + LEASE) if held.exists() else 0)


def record_sent(delivery: Delivery, reply: str, now: datetime) -> None:
    """Record that the delivery was handed over. This also applies to a row that meanwhile became unknown."""
    _record(delivery, Step.SUCCEED, reply, now, done_at=now, problem="")


def record_failure(
    delivery: Delivery, message: str, failure: Failure, now: datetime, wait: timedelta | None = None
) -> None:
    """Record that it was not handed over, or that nobody knows, and decide whether and when to retry.

    ``wait``: how long the other side asks for.
    """
    step, also = _after_failure(delivery, failure, now, wait)
    _record(delivery, step, message, now, problem=message[:300], **also)


def _after_failure(
    delivery: Delivery, failure: Failure, now: datetime, wait: timedelta | None
) -> tuple[Step, dict[str, Any]]:
    """What follows, and the fields that go with it.

    An attempt that may have arrived is repeated only where the lab refuses what it has already. When no delay is left
    and one of the attempts may have arrived, nobody knows, whatever became of the last.
    """
    if failure is Failure.NEEDLESS:
        return Step.STOP, {"done_at": now}
    unclear = {"unclear": True} if failure is Failure.UNKNOWN else {}
    again = failure is Failure.TEMPORARY or (failure is Failure.UNKNOWN and delivery.channel in REPEATS_SAFELY)
    delay = delay_after(delivery.attempts_made, wait) if again else None
    if delay is not None:
        return Step.POSTPONE, {"next_try_at": now + delay, **unclear}
    if failure in (Failure.UNKNOWN, Failure.FAULT) or (failure is Failure.TEMPORARY and delivery.unclear):
        return Step.LOSE, {"unclear": True}
    return Step.GIVE_UP, {"done_at": now}


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
    if step is Step.POSTPONE and not holds(delivery, order):
        del also["next_try_at"]
        step, also = Step.STOP, {**also, "done_at": now}
    move_delivery(delivery, step, reply=reply, **also)
    if step is Step.SUCCEED and delivery.message == Message.NOTICE:
        note_told(delivery)


def expire_leases(now: datetime) -> int:
    """Take deliveries from workers that are gone: they may or may not have sent them. Returns how many.

    Nobody knows whether such a delivery arrived, and a person asks; where the lab refuses what it has already, it is
    simply sent again.
    """
    expired = 0
    for delivery in Delivery.objects.filter(state=DeliveryState.SENDING, leased_until__lt=now):
        try:
            _expire(delivery, now)
        except DeliveryMoved:
            continue  # the sender was merely slow and has just recorded how it ended
        expired += 1
    return expired


@transaction.atomic
def _expire(delivery: Delivery, now: datetime) -> None:
    stopped = "The sender stopped while this was being sent"
    delay = delay_after(delivery.attempts_made) if delivery.channel in REPEATS_SAFELY else None
    if delay is not None and holds(delivery, order_held(delivery)):
        said = f"{stopped}; the lab refuses it if it has it already."
        again: dict[str, Any] = {"unclear": True, "problem": said, "next_try_at": now}
        move_delivery(delivery, Step.POSTPONE, reply=said, **again)
        return
    said = f"{stopped}; ask the lab whether it arrived."
    move_delivery(delivery, Step.EXPIRE, reply=said, problem=said, unclear=True)
