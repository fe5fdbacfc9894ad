"""Starts a remake: a draft with everything that was ordered before, linked to the first order, with a cause and whose
it was. Sending it counts the first pair as made again.
"""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import transaction

from dispensing.models import StaffUser
from orders.models import Order
from orders.models.orders import Purpose
from orders.progress import CannotHappen, EventKind
from orders.services.drafts import DRAFT_FIELDS, start_draft
from orders.services.events import record_event
from orders.states import OrderState

# The day it is needed is asked anew, and what was said to the lab was about the first pair.
NOT_TAKEN_OVER = ("purpose", "remake_of", "remake_cause", "remake_whose", "needed_on", "remarks")


@transaction.atomic
def start_remake(*, first: Order, actor: StaffUser, cause: str, whose: str, said: str) -> Order:
    """``said``: what was wrong, for the lab to read. Raises `ValidationError` if a cause is missing, if ``first`` may
    not be made again, or if its remake is already being drawn up.
    """
    wrong = {}
    if not cause:
        wrong["cause"] = "Choose why it is made again."
    if not whose:
        wrong["whose"] = "Say whose it was; nobody's is an answer too."
    if wrong:
        raise ValidationError(wrong)
    # Two people who start at once queue here.
    Order.objects.select_for_update(of=("self",)).get(pk=first.pk)
    begun = first.remakes.filter(state=OrderState.DRAFT).first()
    if begun is not None:
        raise ValidationError(f"{begun.number} is already being drawn up as the remake of {first.number}.")
    kept = {name: getattr(first, name) for name in DRAFT_FIELDS if name not in NOT_TAKEN_OVER}
    again = {"purpose": Purpose.REMAKE, "remake_of": first, "remake_cause": cause, "remake_whose": whose}
    return start_draft(patient=first.patient, actor=actor, **kept, **again, remarks=said)


def count_as_made_again(remake: Order, actor: StaffUser) -> None:
    """Record on the first order that its remake was sent, if its pair was returned, spoilt or handed over; a first
    pair that is still on its way goes on as before. Call it inside the transaction that sends.
    """
    if remake.remake_of is None:
        return
    try:
        note = f"As order {remake.number}"
        record_event(order=remake.remake_of, kind=EventKind.REMADE, actor=actor, note=note)
    except CannotHappen:
        return


def why_not_sent(order: Order) -> tuple[str, ...]:
    """What a remake still has to say before it is sent."""
    if order.purpose != Purpose.REMAKE or (order.remake_cause and order.remake_whose):
        return ()
    return ("This is a remake: choose its cause and whose it was, so that the same is not made again.",)
