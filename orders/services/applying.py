"""Turns a computed remedy into a draft's fields: a change to the order's own keys, judged and saved like any other."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError

from orders.facts import order_document
from orders.models import Order
from orders.options import changed
from orders.options.change import NoSuchKey, is_of_the_draft

COLUMNS = {
    "use": "use",
    "power_basis": "power_basis",
    "needed_on": "needed_on",
    "supply": "supply",
    "frame.source": "frame_source",
}


def fields_of_change(order: Order, change: Mapping[str, Any]) -> dict[str, Any]:
    """The draft's fields with ``change`` made; a choice set to nothing is left out.

    Raises `ValidationError` for a change to what the draft does not hold (frame, fitting, prescription), or to a value
    that is not possible.
    """
    if not change or not is_of_the_draft(change):
        raise ValidationError("This cannot be changed in the draft; change the record itself.")
    try:
        changed(order_document(order), change)
    except NoSuchKey as unknown:
        raise ValidationError(f"This change does not fit the order: {unknown}.") from unknown
    return _fields(order, change)


def _fields(order: Order, change: Mapping[str, Any]) -> dict[str, Any]:
    lenses, powers = copy.deepcopy(order.lenses or {}), copy.deepcopy(order.powers or {})
    fields: dict[str, Any] = {}
    for path, value in change.items():
        if path in COLUMNS:
            fields[COLUMNS[path]] = date.fromisoformat(value) if path == "needed_on" else value
            continue
        _, eye, key = path.split(".")
        if key == "power":
            powers[eye] = value
            fields["powers"] = powers
            continue
        lens = lenses[eye]
        lens.pop(key, None)
        if value is not None:
            lens[key] = value
        fields["lenses"] = lenses
    return fields
