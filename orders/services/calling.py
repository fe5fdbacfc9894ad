"""Notes a call to a patient, or a word about an order, from a list: by whoever has it open, unless it has moved on."""

from __future__ import annotations

from django.db import transaction

from dispensing.models import StaffUser
from orders.models import Order, OrderEvent
from orders.progress import EventKind
from orders.services.events import record_event

FROM_A_LIST = (EventKind.PATIENT_TOLD, EventKind.MESSAGE_LEFT, EventKind.NOTE)


class HappenedMeanwhile(Exception):
    """Something happened to the order after the list was opened. ``event``: the last that did."""

    def __init__(self, event: OrderEvent):
        self.event = event
        said = f": {event.note}" if event.note else ""
        super().__init__(f"Meanwhile {event.actor or 'the program'} noted “{event.kind}”{said}. Look again.")


@transaction.atomic
def note_call(*, order: Order, actor: StaffUser, kind: EventKind, seen: int, note: str = "") -> OrderEvent:
    """``seen``: the key of the last event of the order that the list showed; so a button pressed twice counts once.

    Raises `HappenedMeanwhile`, `CannotHappen`.
    """
    if kind not in FROM_A_LIST:
        raise TypeError(f"“{kind}” is not noted from a list.")
    Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    last = OrderEvent.objects.filter(order=order).select_related("actor").order_by("-pk").first()
    if last is not None and last.pk != seen:
        raise HappenedMeanwhile(last)
    return record_event(order=order, kind=kind, actor=actor, note=note)
