"""Prescribed, ordered and as worn, as pages show them, and the ways to order the powers on another basis."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, Final

from dispensing.choice_words import label
from dispensing.optics.notation import format_axis, format_power
from dispensing.trade import Limits
from orders.documents.key_words import DASH
from orders.documents.lens_order import LensOrder, PowerBasis
from orders.documents.names import POWER_BASES
from orders.documents.order_report import OrderReport
from orders.documents.powers_side_by_side import EyePowers, OnePower, powers_side_by_side, what_powers_stand_for
from orders.options.power_proposals import on_basis
from orders.presentation.documents import MINUS, Headings
from orders.rules.case import Case
from orders.rules.on_basis import missing_for
from orders.services.judging import NO_CATALOGUE, Judgement

BUTTONS: Final[dict[PowerBasis, str]] = {
    "as_prescribed": "Order as prescribed",
    "carried_to_vertex": "Carry to the worn vertex",
    "as_worn": "Compensate for the position of wear",
}


@dataclass(frozen=True)
class WayToOrder:
    """One basis that the powers could be ordered on. change: what its button sends, as JSON, if nothing is missing."""

    words: str
    change: str = ""
    why_not: str = ""


def power_context(document: LensOrder, report: OrderReport, headings: Headings) -> dict[str, Any]:
    """The table of powers, and the sentence that says what the ordered ones stand for."""
    eyes = side_by_side(document, report, headings)
    rows = [
        ("Prescribed", [whole_power(eye.prescribed) for eye in eyes]),
        ("Ordered", [whole_power(eye.ordered) for eye in eyes]),
        ("How", [eye.ordered.power_by for eye in eyes]),
        ("PD used", [_pd(eye.ordered) for eye in eyes]),
        ("As worn", [whole_power(eye.worn) for eye in eyes]),
    ]
    return {
        "power_heads": [headings.eye(eye.eye) for eye in eyes],
        "power_rows": [{"label": label, "cells": cells} for label, cells in rows if eyes and set(cells) != {DASH}],
        "powers_stand_for": what_powers_stand_for(document),
    }


def side_by_side(document: LensOrder, report: OrderReport, headings: Headings) -> tuple[EyePowers, ...]:
    """The powers of each eye in the cylinder form of this practice."""
    return powers_side_by_side(document, report, "plus" if headings.plus_cylinder else "minus")


def ways_to_order(judgement: Judgement) -> list[WayToOrder]:
    """Every other basis, with the change that orders on it, worked out."""
    document, limits = judgement.document, Limits(judgement.asked.limits)
    case = Case(document, judgement.catalogue or NO_CATALOGUE, judgement.asked.others, limits)
    now = document.power_basis or "as_prescribed"
    return [_way(case, basis) for basis in BUTTONS if basis != now] if case.eyes else []


def _way(case: Case, basis: PowerBasis) -> WayToOrder:
    if basis == "as_prescribed":
        none = {eye.at("lenses.power"): None for eye in case.eyes}
        return WayToOrder(BUTTONS[basis], json.dumps({**none, "power_basis": basis}))
    if any(eye.design is not None and eye.design.compensated for eye in case.eyes):
        return WayToOrder(BUTTONS[basis], why_not="The lab compensates this lens itself.")
    lacking = next((found for eye in case.eyes if (found := missing_for(eye, basis))), None)
    change = on_basis(case, basis) if lacking is None else None
    if change is None:
        what = lacking[0] if lacking else "complete power"
        return WayToOrder(BUTTONS[basis], why_not=f"{label(POWER_BASES[basis])} needs the {what}.")
    return WayToOrder(BUTTONS[basis], json.dumps(change))


def whole_power(line: OnePower | None) -> str:
    """``+1.75 −0.50 × 90, add +2.50, 1Δ in``."""
    if line is None or line.sphere is None:
        return DASH
    axis = None if not line.cylinder or line.axis is None else format_axis(round(line.axis) or 180)
    parts = [
        _power(line.sphere) if axis is None else f"{_power(line.sphere)} {_power(line.cylinder)} × {axis}",
        f"add {_power(line.add)}" if line.add else "",
        *(f"{part.amount:g}Δ {part.base}" for part in line.prism if part.amount and part.base),
    ]
    return ", ".join(part for part in parts if part)


def _pd(line: OnePower) -> str:
    return DASH if line.pd_mm is None else f"{line.pd_mm:.1f} mm, {line.pd_by}"


def _power(value: float | None) -> str:
    return DASH if value is None else format_power(value, minus=MINUS)
