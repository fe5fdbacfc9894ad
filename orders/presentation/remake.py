"""What pages show of a remake: the first order, whose mistake it was, and what is ordered differently now."""

from __future__ import annotations

from typing import Any

from orders.causes import in_words
from orders.documents.lens_order import LensOrder
from orders.documents.order_report import OrderReport
from orders.documents.replaced import cells
from orders.documents.replacing import replaces
from orders.models import Order, OrderDocument
from orders.services.freezing import with_what_is_made

ALWAYS_DIFFERENT = ("purpose", "remake_of", "needed_on", "remarks")
"""What a remake says of itself is no change to the pair."""


def remake_context(order: Order, document: LensOrder, report: OrderReport) -> dict[str, Any]:
    """Empty unless the order remakes another that was sent."""
    if order.remake_of is None:
        return {}
    first = OrderDocument.objects.filter(order=order.remake_of_id).values_list("text", flat=True).first()
    return {
        "remake_first": order.remake_of,
        "remake_said": in_words(order.remake_cause, order.remake_whose),
        "remake_changes": _changes(first, with_what_is_made(document, report.computed)) if first else None,
    }


def _changes(first: str, now: LensOrder) -> list[tuple[str, str, str]]:
    """What, then and now; a draft is compared as it would be sent, with everything to be made stated."""
    changes = replaces(first.encode(), now).changes
    return [cells(change) for change in changes if change.field not in ALWAYS_DIFFERENT]
