"""What happened to an order, added to its list; and where the pair is after it, kept on the order for lists."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from dispensing.models import StaffUser
from orders.models import Order, OrderEvent
from orders.progress import EventKind, place_after


@transaction.atomic
def record_event(
    *, order: Order, kind: EventKind, actor: StaffUser | None, note: str = "", at: datetime | None = None
) -> OrderEvent:
    """Add the event and bring ``order.place`` up to date. ``at``: when it happened, now when None."""
    # Two events at once queue here, so that the place is that of the last one in the list.
    Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    event = OrderEvent.objects.create(order=order, kind=kind, at=at or timezone.now(), actor=actor, note=note[:500])
    kinds = OrderEvent.objects.filter(order=order).order_by("pk").values_list("kind", flat=True)
    order.place = str(place_after(kinds))
    Order.objects.filter(pk=order.pk).update(place=order.place)
    return event
