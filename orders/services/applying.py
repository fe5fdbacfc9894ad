"""Putting a computed remedy into a draft: a change of the order's own keys, saved like any other change."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError

from dispensing.models import StaffUser
from orders.facts import order_document
from orders.models import Order
from orders.options import changed
from orders.options.change import NoSuchKey, is_of_the_draft
from orders.services.drafts import save_draft
from orders.services.judging import Judgement

COLUMNS = {"needed_on": "needed_on", "supply": "supply", "frame.source": "frame_source"}


def apply_change(*, order: Order, actor: StaffUser, version: int, change: Mapping[str, Any]) -> Judgement:
    """Save ``change`` on top of ``version``; returns how the order is judged then.

    Raises `ValidationError` for a change of what the draft does not hold (frame, fitting, prescription) or cannot
    be, and what `save_draft` raises.
    """
    if not change or not is_of_the_draft(change):
        raise ValidationError("This cannot be changed in the draft; change the record itself.")
    try:
        changed(order_document(order), change)
    except NoSuchKey as unknown:
        raise ValidationError(f"This change does not fit the order: {unknown}.") from unknown
    return save_draft(order=order, actor=actor, version=version, fields=_fields(order, change))


def _fields(order: Order, change: Mapping[str, Any]) -> dict[str, Any]:
    """The draft's fields as they will be; a choice set to nothing is left out, as the desk's own forms do."""
    lenses = copy.deepcopy(order.lenses or {})
    fields: dict[str, Any] = {}
    for path, value in change.items():
        if path in COLUMNS:
            fields[COLUMNS[path]] = date.fromisoformat(value) if path == "needed_on" else value
            continue
        _, eye, key = path.split(".")
        lens = lenses[eye]
        lens.pop(key, None)
        if value is not None:
            lens[key] = value
        fields["lenses"] = lenses
    return fields
