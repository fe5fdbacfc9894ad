"""How an order is on its way to the lab, in words: never “Sent” for what has not left. It decides nothing.

Rows carry the marks that ``orders.queries`` puts on them; ``Wait`` is one thing that is stuck, with how grave it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.utils import timezone

from orders.delivery_states import DeliveryState, waits_too_long
from orders.models import Delivery
from orders.models.deliveries import Channel, Message
from orders.progress import EventKind, Place
from orders.sending.channels import SENDERS
from orders.stuck import Stuck

if TYPE_CHECKING:
    from orders.queries import MarkedOrder

# What a tab, a filter or a list calls a place; the others are called as they are.
PLACE_WORDS = {Place.SENT: "Not accepted yet"}
START_IT = "Start it on the server with: python3 manage.py send_orders --watch"


@dataclass(frozen=True)
class Wait:
    """``level``: stop, ask or note. ``show``: the filter of the list of orders that shows which; may be empty."""

    level: str
    text: str
    show: str = ""


def place_word(place: str) -> str:
    return PLACE_WORDS.get(Place(place), place.capitalize())


def where(order: MarkedOrder) -> str:
    """Where the order or its pair is, as a list shows it."""
    if order.place != Place.SENT or order.way_state is None:
        return order.place.capitalize()
    return out_words(order.way_state, order.way_channel or "", order.way_next_try)


def out_words(state: str, channel: str, next_try: datetime | None) -> str:
    """How an order that no lab has answered yet is on its way."""
    by_people = {Channel.DOWNLOAD: "Not sent yet, to be passed on by hand", Channel.API: "Not fetched by the lab yet"}
    words = {
        DeliveryState.QUEUED: by_people.get(Channel(channel), "Not sent yet"),
        DeliveryState.SENDING: "Being sent",
        DeliveryState.RETRY_LATER: f"Not sent yet, next try {_at(next_try)}" if next_try else "Not sent yet",
        DeliveryState.SENT: "Sent",
        DeliveryState.UNKNOWN: "Not known whether it arrived",
        DeliveryState.FAILED: "Not sent",
        DeliveryState.WITHHELD: "Not sent, held back",
    }
    return words[DeliveryState(state)]


def all_waits(found: Stuck) -> list[Wait]:
    """What is stuck anywhere, the gravest first, for the home page and the list of orders."""
    said = [
        _no_sender(found),
        Wait("stop", _too_long(found), "waiting") if found.too_long and found.oldest else None,
        _count("stop", found.failed, "did not reach the lab", "did not reach the lab", "unsent"),
        _count("stop", found.unknown, "may not have reached the lab", "may not have reached the lab", "unsent"),
        _count(
            "ask",
            found.unacknowledged,
            "withdrawn order may still be made: the lab has not said that it knows",
            "withdrawn orders may still be made: the lab has not said that it knows",
            "unacknowledged",
        ),
        _count(
            "ask",
            found.promises_past,
            "is past the day the lab promised",
            "are past the day the lab promised",
            "promise",
        ),
    ]
    return [wait for wait in said if wait]


def quiet_waits(found: Stuck) -> list[Wait]:
    """What is under way and needs nobody yet."""
    fresh = found.waiting + found.retrying - found.too_long
    trying = f", {found.retrying} of them to be tried again" if found.retrying else ""
    waits = "waits" if fresh == 1 else "wait"
    return [Wait("note", f"{fresh} {waits} to leave{trying}", "waiting")] if fresh > 0 else []


def waits_of(order: MarkedOrder, deliveries: Sequence[Delivery], found: Stuck) -> list[Wait]:
    """What is stuck about this one order."""
    now = timezone.now()
    said = [wait for delivery in deliveries for wait in _delivery_waits(delivery, found, now)]
    told = any(
        delivery.message == Message.WITHDRAWAL and delivery.state == DeliveryState.SENT for delivery in deliveries
    )
    if told and not any(event.kind == EventKind.ACKNOWLEDGED for event in order.events.all()):
        said.append(Wait("ask", "The lab was told not to make this pair, and has not said that it knows."))
    if order.promise_past and order.promised_on:
        phone = f" Call {order.lab}: {order.lab.phone}." if order.lab and order.lab.phone else ""
        said.append(Wait("ask", f"The lab promised this pair for {order.promised_on:%-d %b %Y}.{phone}"))
    return said


def _delivery_waits(delivery: Delivery, found: Stuck, now: datetime) -> Iterator[Wait]:
    what = {Message.ORDER: "This order", Message.WITHDRAWAL: "Word that it is not to be made"}.get(
        Message(delivery.message), "The answer to the lab"
    )
    state = DeliveryState(delivery.state)
    if state is DeliveryState.FAILED:
        yield Wait("stop", f"{what} did not reach the lab. Read why under Deliveries, mend it and send it again.")
    elif state is DeliveryState.UNKNOWN:
        yield Wait("stop", f"{what} may not have reached the lab. Ask the lab, then say under Deliveries what it says.")
    elif state in (DeliveryState.QUEUED, DeliveryState.RETRY_LATER):
        yield from _waiting(what, delivery, found, now)


def _waiting(what: str, delivery: Delivery, found: Stuck, now: datetime) -> Iterator[Wait]:
    sent_by_us = delivery.channel in SENDERS
    level = "stop" if waits_too_long(delivery.state, delivery.queued_at, now) else "note"
    since = f"It waits since {_at(delivery.queued_at)}."
    if sent_by_us and found.sender_missing:
        yield Wait("stop", f"{what} has not left, and the program that sends is not running. {since} {START_IT}")
    elif delivery.state == DeliveryState.RETRY_LATER:
        tries = f"{delivery.attempts_made} {'try' if delivery.attempts_made == 1 else 'tries'} failed"
        yield Wait(
            "stop" if level == "stop" else "ask", f"{what} has not left: {tries}; next {_at(delivery.next_try_at)}."
        )
    elif delivery.channel == Channel.DOWNLOAD:
        yield Wait(
            "ask" if level == "note" else level, f"{what} has not left: pass it on to the lab, then say so below."
        )
    elif delivery.channel == Channel.API:
        yield Wait(level, f"The lab has not fetched this yet. {since}")
    else:
        yield Wait(level, f"{what} has not left yet. {since}")


def _no_sender(found: Stuck) -> Wait | None:
    if not found.sender_missing:
        return None
    seen = f" It was last seen {_at(found.sender_seen)}." if found.sender_seen else ""
    return Wait("stop", f"Nothing leaves: the program that sends orders is not running.{seen} {START_IT}")


def _too_long(found: Stuck) -> str:
    since = _at(found.oldest) if found.oldest else ""
    if found.too_long == 1:
        return f"1 has waited to leave for over an hour, since {since}"
    return f"{found.too_long} have waited to leave for over an hour, the longest since {since}"


def _count(level: str, number: int, one: str, more: str, show: str) -> Wait | None:
    return Wait(level, f"{number} {one if number == 1 else more}", show) if number else None


def _at(moment: datetime | None) -> str:
    """The time, with the day unless it is today's."""
    if moment is None:
        return "never"
    local = timezone.localtime(moment)
    return f"{local:%H:%M}" if local.date() == timezone.localdate() else f"{local:%-d %b, %H:%M}"
