"""When a wearer of a first progressive is asked how it goes. Pure."""

from __future__ import annotations

from datetime import date, timedelta

from dispensing.trade import figure
from orders.documents.lens_order import LensOrder
from orders.documents.words import extra_of

HARD_TO_GET_USED_TO = ("progressive", "office")


def has_progressives(order: LensOrder) -> bool:
    """Whether a lens of the pair is a progressive or an office lens."""
    kinds = (extra_of(lens, "design_kind") for lens in (order.lenses.right, order.lenses.left))
    return any(kind in HARD_TO_GET_USED_TO for kind in kinds)


def follow_up_day(order: LensOrder, handed_over: date, *, worn_before: bool) -> date | None:
    """The day to propose; None for wearers who know such lenses (``worn_before``) or get none."""
    if worn_before or not has_progressives(order):
        return None
    return handed_over + timedelta(days=figure("adaptation-check", "first_days"))
