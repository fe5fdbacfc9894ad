"""Notices written to patients, as lists show them. This module only reads."""

from __future__ import annotations

from dispensing.queries.paging import Page, page_of
from orders.delivery_states import WAITS_FOR_A_PERSON, DeliveryState
from orders.models import Delivery, Notice, Order
from orders.models.deliveries import Message

DID_NOT_LEAVE = (*WAITS_FOR_A_PERSON, DeliveryState.WITHHELD)


def notices_page(*, stuck: bool = False, after: str = "") -> Page[Notice]:
    """One page, newest first. ``stuck``: only what did not leave, or may not have."""
    rows = Notice.objects.select_related("patient", "asked_by", "delivery__document__order")
    if stuck:
        rows = rows.filter(delivery__state__in=DID_NOT_LEAVE)
    return page_of(rows, order=("-pk",), after=after)


def not_left() -> int:
    """How many failed or may not have arrived."""
    return Delivery.objects.filter(message=Message.NOTICE, state__in=WAITS_FOR_A_PERSON).count()


def notices_of(order: Order) -> list[Notice]:
    """Of every revision of the order, newest first."""
    rows = Notice.objects.filter(delivery__document__number=order.number)
    return list(rows.select_related("delivery__document__order", "asked_by").order_by("-pk"))
