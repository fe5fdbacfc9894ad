"""Adds an event to an order's list if it may come next, and stores where the pair then is, for lists.

Only a registered person may hand over the pair of a child or of a registered sight-impaired person: what counts is
the day of collection, not the day of the order.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from dispensing.ages import age_on
from dispensing.models import StaffUser
from dispensing.queries.limits import limits_in_force
from dispensing.roles import Role
from orders.delivery_states import got_to_the_lab
from orders.models import Delivery, Order, OrderEvent
from orders.progress import EventKind, place_after, require_may_follow
from orders.services.errors import NotRegistered

REGISTERED_ROLES = (Role.DISPENSER, Role.MANAGER)


@transaction.atomic
def record_event(
    *, order: Order, kind: EventKind, actor: StaffUser | None, note: str = "", at: datetime | None = None
) -> OrderEvent:
    """Add the event and bring ``order.place`` up to date. ``at``: when it happened; None means now.

    Raises `CannotHappen` if the event cannot follow what has happened so far, and `NotRegistered` if a protected
    patient's pair would be handed over by someone who is not registered.
    """
    at = at or timezone.now()
    # Simultaneous events queue here, so that the second is judged by the result of the first.
    Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    kinds = list(OrderEvent.objects.filter(order=order).order_by("pk").values_list("kind", flat=True))
    with_lab = got_to_the_lab(Delivery.objects.filter(document__order=order).values_list("state", flat=True))
    by_lab = actor is not None and actor.role == Role.LAB
    require_may_follow(place_after(kinds), kind, with_lab=with_lab, by_lab=by_lab)
    if kind == EventKind.HANDED_OVER:
        _require_registered(order, actor, at)
    event = OrderEvent.objects.create(order=order, kind=kind, at=at, actor=actor, note=note[:500])
    order.place = str(place_after([*kinds, kind]))
    Order.objects.filter(pk=order.pk).update(place=order.place)
    return event


def _require_registered(order: Order, actor: StaffUser | None, at: datetime) -> None:
    """UK Opticians Act 1989, section 27: supply to a protected person is by or under a registered one."""
    patient = order.patient
    years = age_on(patient.born_on, timezone.localdate(at))
    is_child = years < limits_in_force().of("protected-patient", "below_years")
    if not is_child and not patient.sight_impaired:
        return
    if actor is None or actor.role not in REGISTERED_ROLES or not actor.registration.strip():
        raise NotRegistered(f"is {years} years old" if is_child else "is registered as sight-impaired")
