"""What happened to an order, added to its list; and where the pair is after it, kept on the order for lists.

A child's or a registered sight-impaired person's pair is handed over by a registered person only: the day of the
collection counts, not that of the order.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from dispensing.ages import PROTECTED_BELOW_AGE, age_on
from dispensing.models import StaffUser
from dispensing.roles import Role
from orders.models import Order, OrderEvent
from orders.progress import EventKind, place_after
from orders.services.errors import NotRegistered

REGISTERED_ROLES = (Role.DISPENSER, Role.MANAGER)


@transaction.atomic
def record_event(
    *, order: Order, kind: EventKind, actor: StaffUser | None, note: str = "", at: datetime | None = None
) -> OrderEvent:
    """Add the event and bring ``order.place`` up to date. ``at``: when it happened, now when None.

    Raises `NotRegistered` when a protected patient's pair would be handed over by someone not registered.
    """
    at = at or timezone.now()
    if kind == EventKind.HANDED_OVER:
        _require_registered(order, actor, at)
    # Two events at once queue here, so that the place is that of the last one in the list.
    Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    event = OrderEvent.objects.create(order=order, kind=kind, at=at, actor=actor, note=note[:500])
    kinds = OrderEvent.objects.filter(order=order).order_by("pk").values_list("kind", flat=True)
    order.place = str(place_after(kinds))
    Order.objects.filter(pk=order.pk).update(place=order.place)
    return event


def _require_registered(order: Order, actor: StaffUser | None, at: datetime) -> None:
    """UK Opticians Act 1989, section 27: supply to a protected person is by or under a registered one."""
    patient = order.patient
    years = age_on(patient.born_on, timezone.localdate(at))
    is_child = years < PROTECTED_BELOW_AGE
    if not is_child and not patient.sight_impaired:
        return
    if actor is None or actor.role not in REGISTERED_ROLES or not actor.registration.strip():
        raise NotRegistered(f"is {years} years old" if is_child else "is registered as sight-impaired")
