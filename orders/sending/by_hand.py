"""What people do with the outbox by hand: retry, hold back, confirm arrival, and record that an order was passed on."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from typing import Any

from django.db import transaction
from django.utils import timezone

from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.delivery_states import DeliveryState, Step
from orders.models import Delivery, Order
from orders.models.deliveries import Channel, Message
from orders.services.deliveries import DeliveryMoved, move_delivery
from orders.services.ways_out import ways_of

# What the program does not send: people take it to the lab, or the lab fetches it.
BY_PEOPLE = (Channel.DOWNLOAD, Channel.API)


def retry_delivery(*, delivery: Delivery, actor: StaffUser) -> None:
    """Put the delivery back into the outbox, due now, with its earlier attempts kept, to the lab's present address."""
    anew: dict[str, Any] = {"next_try_at": timezone.now(), "attempts_made": 0, "done_at": None}
    _change(delivery, actor, "delivery.retry", Step.RETRY, address=_address_now(delivery), **anew)


def _address_now(delivery: Delivery) -> str:
    """The lab's present address for this way: correcting it is the usual cure for a refusal. A patient's stays."""
    if delivery.message == Message.NOTICE:
        return delivery.address
    lab = delivery.document.order.lab
    return ways_of(lab).get(Channel(delivery.channel), delivery.address) if lab else delivery.address


@transaction.atomic
def reroute_delivery(*, delivery: Delivery, actor: StaffUser, channel: str) -> Delivery:
    """Send the same message another way, under the same key; this delivery is withheld and says so.

    Raises `ValueError` for a way that is not set up for this lab, `DeliveryMoved` if it has gone out meanwhile, and
    `NotInForce`.
    """
    lab = delivery.document.order.lab
    ways = ways_of(lab) if lab and delivery.message != Message.NOTICE else {}
    if channel not in ways:
        raise ValueError("This way is not set up for the lab. Set it up on the lab's page first.")
    wanted = Channel(channel)
    _change(delivery, actor, "delivery.reroute", Step.REROUTE, problem=f"Sent another way instead: {wanted.label}.")
    return Delivery.objects.create(
        document=delivery.document,
        message=delivery.message,
        event=delivery.event,
        channel=wanted,
        address=ways[wanted],
        unclear=delivery.unclear,
        next_try_at=timezone.now(),
    )


def withhold_delivery(*, delivery: Delivery, actor: StaffUser, reason: str = "") -> None:
    """Hold the delivery back before it is sent."""
    _change(delivery, actor, "delivery.withhold", Step.HOLD_BACK, problem=reason)


def told_otherwise(*, delivery: Delivery, actor: StaffUser) -> None:
    """Record that the patient was told some other way, so that the notice need not leave any more."""
    _change(delivery, actor, "delivery.reroute", Step.REROUTE, problem="The patient was told some other way.")


def settle_delivery(*, delivery: Delivery, actor: StaffUser, note: str = "") -> None:
    """Record that the lab says it has the order, whatever the program knows."""
    _change(delivery, actor, "delivery.settle", Step.SETTLE, problem=note)


def note_download(*, delivery: Delivery, actor: StaffUser) -> None:
    """Record that what goes to the lab by hand was passed on."""
    if delivery.channel not in BY_PEOPLE:
        raise DeliveryMoved(delivery)
    _change(delivery, actor, "delivery.download", Step.CARRY)


def note_fetched(order: Order, actor: StaffUser, messages: Iterable[Message]) -> None:
    """Record that the lab fetched what waited for it. ``actor``: the lab's own user."""
    waiting = Delivery.objects.filter(document__order=order, channel=Channel.API, message__in=list(messages))
    for delivery in waiting.filter(state=DeliveryState.QUEUED):
        with contextlib.suppress(DeliveryMoved):  # fetched by two of the lab's programs at once
            _change(delivery, actor, "delivery.fetched", Step.CARRY, problem="Fetched by the lab over the API.")


@transaction.atomic
def _change(delivery: Delivery, actor: StaffUser, verb: str, step: Step, *, problem: str = "", **also: Any) -> None:
    before = {"state": delivery.state, "address": delivery.address}
    wanted = {"problem": problem[:300], "done_at": timezone.now()} | also
    move_delivery(delivery, step, reply=problem, actor=actor, **wanted)
    after = {"state": delivery.state, "address": delivery.address}
    changes = {name: [before[name], after[name]] for name in before if before[name] != after[name]}
    record(actor=actor, verb=verb, target=delivery, patient=delivery.document.order.patient, changes=changes)
