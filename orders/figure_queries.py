"""Readings of finished pairs and pairs that were made, read from the record for the figures. This module only reads."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from functools import lru_cache
from typing import Any, NamedTuple

from django.utils import timezone

from dispensing.choice_words import label
from orders.documents.names import MOUNTS
from orders.figures.hand import QUANTITIES, Reading, axis_as_cylinder
from orders.figures.remade import Made
from orders.models import FinishedReading, Order, OrderDocument
from orders.models.orders import Purpose
from orders.states import OrderState

NOT_KNOWN = "Not known"


class Ordered(NamedTuple):
    """What the figures sort by, from a frozen document."""

    lab: str
    designs: dict[str, str]
    mount: str

    @property
    def design(self) -> str:
        return self.designs.get("right") or self.designs.get("left") or NOT_KNOWN


def readings_since(day: date) -> Iterator[Reading]:
    """Every figure read of every lens since this day, oldest first; a second reader's says nothing more of the lab."""
    rows = FinishedReading.objects.filter(read_at__date__gte=day, second_of=None).select_related("document")
    for row in rows.only("read_at", "verdict", "document__text", "document__number").order_by("read_at", "pk"):
        ordered = ordered_of(row.document.text)
        items = row.verdict.get("items", [])
        cylinders = {item["eye"]: item["ordered"] for item in items if item["quantity"] == "cylinder"}
        for item in items:
            error = _error(item, cylinders)
            if error is not None and item["quantity"] in QUANTITIES:
                design = ordered.designs.get(item.get("eye") or "") or ordered.design
                on = timezone.localdate(row.read_at)
                yield Reading(row.document.number, on, ordered.lab, design, item["quantity"], error)


def _error(item: dict[str, Any], cylinders: dict[str | None, float]) -> float | None:
    error = (item.get("extra") or {}).get("error")
    if item["quantity"] != "axis" or error is None:
        return error
    cylinder = cylinders.get(item["eye"])
    return None if cylinder is None else axis_as_cylinder(cylinder, error)


def pairs_since(day: date) -> list[Made]:
    """Every pair that went to a lab since this day and is no remake, with the cause of its remake if it was sent."""
    orders = Order.objects.filter(sent_at__date__gte=day, state=OrderState.SENT).exclude(purpose=Purpose.REMAKE)
    texts = dict(OrderDocument.objects.filter(order__in=orders).values_list("order_id", "text"))
    again = Order.objects.filter(remake_of__in=orders, sent_at__isnull=False).order_by("-pk")
    causes = {row.remake_of_id: (row.remake_cause, row.remake_whose) for row in again}
    made = []
    for order in orders.select_related("sent_by").order_by("pk"):
        ordered = ordered_of(texts[order.pk])
        dispenser = order.sent_by.display_name if order.sent_by else NOT_KNOWN
        cause = causes.get(order.pk, ("", ""))
        made.append(Made(order.number, ordered.lab, ordered.design, dispenser, ordered.mount, *cause))
    return made


@lru_cache(maxsize=4096)
def ordered_of(text: str) -> Ordered:
    """Lab, designs by eye and mount in words. Frozen text never changes, so that it is read once."""
    told = json.loads(text)
    lenses = told.get("lenses") or {}
    designs = {eye: _design(lenses[eye]) for eye in ("right", "left") if lenses.get(eye)}
    mount = (told.get("frame") or {}).get("mount") or ""
    return Ordered((told.get("lab") or {}).get("name") or NOT_KNOWN, designs, label(MOUNTS.get(mount, NOT_KNOWN)))


def _design(lens: dict[str, Any]) -> str:
    return (lens.get("extra") or {}).get("design_name") or lens.get("design") or NOT_KNOWN
