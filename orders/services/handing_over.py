"""Hands a pair over to its wearer: to the right person, with what was seen and said, and frees the tray it lay in."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from dispensing.models import StaffUser
from dispensing.services.audit import record
from dispensing.services.patients import mark_seen
from orders.models import HandOver, Order
from orders.models.aftercare import Collector
from orders.progress import EventKind
from orders.services.events import record_event

NOTED = ("given_to", "collector_name", "fit", "acuity", "cautions", "care_given", "patients_copy")
DAYS = ("next_test_on", "follow_up_on")


@transaction.atomic
def hand_over(
    *,
    order: Order,
    actor: StaffUser,
    reference: str,
    born_on: date,
    note: str = "",
    registered: StaffUser | None = None,
    **told: Any,
) -> HandOver:
    """Record the hand-over. ``reference`` and ``born_on``: as the person collecting said or showed them; ``told``: the
    fields of NOTED and DAYS.

    Raises `ValidationError` by field if this is not the person, or if nobody says who collects; `CannotHappen`;
    `NotRegistered`.
    """
    _require_the_person(order, reference, born_on)
    if told["given_to"] != Collector.PATIENT and not told.get("collector_name", "").strip():
        raise ValidationError({"collector_name": "Say who takes it for the patient."})
    event = record_event(order=order, kind=EventKind.HANDED_OVER, actor=actor, note=note, registered=registered)
    row = HandOver(event=event, **{name: told[name] for name in (*NOTED, *DAYS) if name in told})
    row.full_clean(exclude={"event"})
    row.save()
    free_tray(order)
    mark_seen(order.patient)
    record(actor=actor, verb="order.hand-over", target=order, patient=order.patient)
    return row


def _require_the_person(order: Order, reference: str, born_on: date) -> None:
    """Both, so that neither a namesake nor a number read off by one is enough."""
    wrong = {}
    if reference.strip().casefold() != order.patient.reference.casefold():
        wrong["reference"] = f"Order {order.number} is not for {reference.strip()}. Look at the label again."
    if born_on != order.patient.born_on:
        wrong["born_on"] = "This is not the birth date on record. Ask again, and do not hand the pair over until it is."
    if wrong:
        raise ValidationError(wrong)


@transaction.atomic
def put_in_tray(*, order: Order, actor: StaffUser, tray: str) -> Order:
    """Say where the pair lies; empty takes it out. Raises `ValidationError` if another pair lies there."""
    tray = tray.strip().upper()
    there = Order.objects.filter(tray=tray).exclude(pk=order.pk).first() if tray else None
    if there is not None:
        raise ValidationError({"tray": f"Order {there.number} lies in tray {tray}. Look again, or take that one out."})
    before = Order.objects.select_for_update(of=("self",)).get(pk=order.pk).tray
    if before != tray:
        Order.objects.filter(pk=order.pk).update(tray=tray)
        order.tray = tray
        changes = {"tray": [before or None, tray or None]}
        record(actor=actor, verb="order.tray", target=order, patient=order.patient, changes=changes)
    return order


def free_tray(order: Order) -> None:
    """The pair has left; another can lie where it lay."""
    Order.objects.filter(pk=order.pk).update(tray="")
    order.tray = ""
