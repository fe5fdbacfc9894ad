"""Adds an event to an order's list if it may come next, and stores where the pair then is, for lists.

A registered person takes part when the pair of a child or of a registered sight-impaired person is checked and handed
over: what counts is that day, not the day of the order.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from dispensing.models import StaffUser
from dispensing.queries.protection import is_registered, why_protected
from dispensing.roles import Role
from dispensing.services.audit import record
from orders.delivery_states import got_to_the_lab
from orders.models import Delivery, LabWord, Order, OrderEvent
from orders.models.deliveries import Message
from orders.progress import BY_THE_LAB, PROMISES, WITHDRAWN, EventKind, Place, place_after, require_may_follow
from orders.rules.dates import working_days_later
from orders.services.errors import NotRegistered
from orders.services.ways_out import tell_answer

TAKES_A_REGISTERED_PERSON = (EventKind.PASSED, EventKind.CONCEDED, EventKind.HANDED_OVER)


@transaction.atomic
def record_event(
    *,
    order: Order,
    kind: EventKind,
    actor: StaffUser | None,
    note: str = "",
    at: datetime | None = None,
    registered: StaffUser | None = None,
    **word: Any,
) -> OrderEvent:
    """Add the event and bring ``order.place`` up to date. ``at``: when it happened; None means now. ``registered``: who
    of the registered people took part, if the law asks for one; a registered ``actor`` need not be named again.
    ``word``: what the lab said with it, by the names of `LabWord`.

    Raises `CannotHappen` if the event cannot follow what has happened so far, and `NotRegistered` if a protected
    patient's pair would be checked or handed over without a registered person.
    """
    at = at or timezone.now()
    # Simultaneous events queue here, so that the second is judged by the result of the first.
    Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    kinds = list(OrderEvent.objects.filter(order=order).order_by("pk").values_list("kind", flat=True))
    place = place_after(kinds)
    with_lab = lab_knows(place, Delivery.objects.filter(document__order=order).values_list("message", "state"))
    by_lab = actor is not None and actor.role == Role.LAB
    require_may_follow(place, kind, with_lab=with_lab, by_lab=by_lab)
    took_part = _registered(order, registered or actor, at) if kind in TAKES_A_REGISTERED_PERSON else None
    event = OrderEvent.objects.create(order=order, kind=kind, at=at, actor=actor, registered=took_part, note=note[:500])
    if any(word.values()):
        LabWord.objects.create(event=event, **word)
    _keep_on_order(order, kind, str(place), str(place_after([*kinds, kind])), word.get("promised_on"))
    if kind in BY_THE_LAB:
        told = {"reported": [None, kind.value]} | ({"note": [None, event.note]} if note else {})
        record(actor=actor, verb="lab.report", target=order, patient=order.patient, changes=told)
    if kind == EventKind.ANSWER:
        tell_answer(order, event)
    return event


def _keep_on_order(order: Order, kind: EventKind, before: str, place: str, promised_on: date | None) -> None:
    """Where the pair now is and since when, when that was written, and the days it is promised for and expected on, for
    lists. A pair that goes back to the lab is promised for no day yet.
    """
    now = timezone.now()
    kept: dict[str, Any] = {"place": place, "moved_at": now}
    if place != before:
        kept["place_since"] = now
    if kind in PROMISES and promised_on is not None:
        kept |= {"promised_on": promised_on, "expected_on": promised_on}
    elif kind in (EventKind.SENT, EventKind.RETURNED):
        kept |= {"promised_on": None, "expected_on": usual_arrival(order, timezone.localdate(now))}
    if kind == EventKind.ACKNOWLEDGED:
        kept["to_acknowledge"] = False
    for name, value in kept.items():
        setattr(order, name, value)
    Order.objects.filter(pk=order.pk).update(**kept)


def usual_arrival(order: Order, sent_on: date) -> date | None:
    """The day by which a pair sent for on ``sent_on`` usually comes from the order's lab; None without a lab."""
    return working_days_later(sent_on, order.lab.working_days) if order.lab else None


def lab_knows(place: Place | str | None, told: Iterable[tuple[str, str]]) -> bool:
    """Whether the lab can have received what it now answers or acts on. ``told``: message and state of deliveries.

    Of an order in force that is the order itself, and of a withdrawn one the word that it is withdrawn.
    """
    rows = list(told)
    if place in WITHDRAWN:
        return any(message == Message.WITHDRAWAL for message, _ in rows)
    return got_to_the_lab(state for message, state in rows if message == Message.ORDER)


def _registered(order: Order, person: StaffUser | None, at: datetime) -> StaffUser | None:
    """The registered person who takes part; None if the patient needs none. Raises `NotRegistered`.

    UK Opticians Act 1989, section 27: supply to a protected person is by or under a registered one.
    """
    why = why_protected(order.patient, timezone.localdate(at))
    if why and not is_registered(person):
        raise NotRegistered(why)
    return person if why else None
