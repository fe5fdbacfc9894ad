"""When two people save the same draft: the differences between their versions, in words, for the second to decide."""

from __future__ import annotations

from dispensing.choice_words import label
from dispensing.services.meanwhile import Values
from orders.differences import differences
from orders.facts import catalogue_of
from orders.models import Order


def rows(current: Order, fields: Values) -> list[dict[str, str]]:
    """One for each field that differs. ``current``: the order as now saved; ``fields``: theirs, then mine."""
    return [
        {"label": label(one.field), "mine": one.after, "theirs": one.before}
        for one in differences(fields, catalogue_of(current))
    ]
