"""What a lab asked about an order and nobody has answered yet."""

from __future__ import annotations

from orders.models import Order, OrderEvent
from orders.progress import EventKind, Place


def open_question(order: Order) -> OrderEvent | None:
    """The lab's last question, from the prefetched events; None unless the order waits for an answer."""
    if Place(order.place) is not Place.QUERY_OPEN:
        return None
    asked = [event for event in order.events.all() if event.kind == EventKind.QUERY]
    return max(asked, key=lambda event: event.pk, default=None)
