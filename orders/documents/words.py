"""How the paper lab order writes figures, dates and the document's words. A missing value is always a dash."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from dispensing.documents import DocumentPart
from dispensing.optics.errors import OpticsError
from dispensing.optics.notation import format_axis, format_power
from orders.documents.lens_order import PrismPart
from orders.documents.order_report import ComputedEye

MISSING = "–"
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

CURVE_BY_RULE = "by Vogel's rule"
"""The mark for a base curve that comes from neither the order nor the lab's table."""


def figure(value: float | None, unit: str = "", places: int = 1) -> str:
    """A length, angle or weight: one decimal place by default; figures typed with more keep them."""
    if value is None:
        return MISSING
    rounded = f"{value:.{places}f}"
    exact = f"{value:.2f}".rstrip("0").rstrip(".")
    text = exact if len(exact) > len(rounded) else rounded
    return f"{text} {unit}".rstrip()


def rounded(value: float | None, unit: str = "", places: int = 1) -> str:
    """A computed figure, rounded for display."""
    return MISSING if value is None else f"{value:.{places}f} {unit}".rstrip()


def base_curve(eye: ComputedEye) -> str:
    """The curve in use, with the rule if a rule chose it: ``10.50 D by Vogel's rule``."""
    shown = rounded(eye.base_curve_d, "D", 2)
    return f"{shown} {CURVE_BY_RULE}" if eye.base_curve_by == "vogel" else shown


def power(value: float | None) -> str:
    """A power as the trade writes it; one that no lens has is printed unchanged."""
    if value is None:
        return MISSING
    try:
        return format_power(value)
    except OpticsError:
        return f"{value:+g}"


def axis(value: float | None) -> str:
    if value is None:
        return MISSING
    try:
        return format_axis(value)
    except OpticsError:
        return f"{value:g}"


def prism(parts: Iterable[PrismPart]) -> str:
    """``1.00 in, 0.50 up``."""
    said = [
        f"{MISSING if part.amount is None else f'{part.amount:.2f}'} {part.base or 'base missing'}" for part in parts
    ]
    return ", ".join(said) or MISSING


def day(value: date | None) -> str:
    """``4 Dec 2026``: a month in letters cannot be mistaken for a day."""
    return MISSING if value is None else f"{value.day} {MONTHS[value.month - 1]} {value.year}"


def with_code(name: str | None, code: str | None) -> str:
    """``Single vision (q-sv1)``: a lab finds a lens by its code, and a name shows that the code is the one meant."""
    if not code or name == code:
        return name or MISSING
    return f"{name} ({code})" if name else code


def curve(value: float | None) -> str:
    """A base or front curve, which without its index would be no curve at all: ``5.25 D (1.530)``."""
    return MISSING if value is None else f"{figure(value, 'D', 2)} (1.530)"


def extra_of(part: DocumentPart | None, key: str) -> Any:
    """A value under the part's free ``extra``, or None."""
    return (part.extra or {}).get(key) if part is not None else None


def prescribes_balance(eye: DocumentPart) -> bool:
    """Whether an eye's line of a prescription has a balance lens, for which the format has no key of its own."""
    return extra_of(eye, "balance") is True


def sphere_prescribed(eye: DocumentPart, written: str | None) -> str | None:
    """``balance``, ``balance −2.00`` or the sphere alone, as it is ``written``; None where nothing is prescribed."""
    return " ".join(part for part in ("balance" if prescribes_balance(eye) else "", written) if part) or None


def is_urgent(order: DocumentPart) -> bool:
    """Whether the lab is asked to begin with this order before others."""
    return bool(extra_of(order, "priority") == "urgent")


def text_of(part: DocumentPart | None, key: str, otherwise: str | None = None) -> str:
    """A text under ``extra``, else ``otherwise``, else a dash. What another system put there may not be text."""
    value = extra_of(part, key)
    return value if isinstance(value, str) and value else (otherwise or MISSING)
