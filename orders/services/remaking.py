"""What may be remade: one rule for the desk, the button on a sent order, the API, and every draft that is saved."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from orders.models import Order
from orders.states import OrderState


def require_remakeable(original: Order, draft: Order) -> None:
    """Raise `ValidationError` unless ``draft`` may remake ``original``: for the same patient, sent and in force."""
    why_not = _why_not(original, draft)
    if why_not:
        raise ValidationError(why_not)


def order_to_remake(number: str, draft: Order) -> Order:
    """The order with this number that ``draft`` remakes: the newest revision that was sent. Raises `ValidationError`.

    Another patient's number gets the same answer as a number that was never issued.
    """
    revisions = Order.objects.filter(number__iexact=number, patient=draft.patient_id).order_by("-revision")
    original = revisions.exclude(sent_at=None).first() or revisions.first()
    if original is None:
        raise ValidationError(f"This patient has no order {number}. Check the number.")
    require_remakeable(original, draft)
    return original


def _why_not(original: Order, draft: Order) -> str:
    if original.patient_id != draft.patient_id:
        return "This order belongs to another patient."
    if original.sent_at is None:
        return f"Order {original.number} was never sent, so it cannot be made again."
    if original.number == draft.number:
        return f"This is a revision of order {original.number} and takes its place; it is no remake of it."
    if original.state == OrderState.SUPERSEDED:
        return f"Revision {original.revision} of order {original.number} was replaced. Name the newest one."
    if original.state == OrderState.CANCELLED:
        return f"Order {original.number} was cancelled, so there is no pair to make again."
    return ""
