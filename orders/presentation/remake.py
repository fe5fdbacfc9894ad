"""What pages show of a remake: the first order, whose mistake it was, and what is ordered differently now."""

from __future__ import annotations

from typing import Any

from orders.causes import in_words
from orders.documents.changed import changed
from orders.documents.lens_order import LensOrder, parse_order
from orders.models import Order, OrderDocument


def remake_context(order: Order, document: LensOrder) -> dict[str, Any]:
    """Empty unless the order remakes another that was sent."""
    if order.remake_of is None:
        return {}
    first = OrderDocument.objects.filter(order=order.remake_of_id).values_list("text", flat=True).first()
    return {
        "remake_first": order.remake_of,
        "remake_said": in_words(order.remake_cause, order.remake_whose),
        "remake_changes": list(changed(parse_order(first), document)) if first else None,
    }
