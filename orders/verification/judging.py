"""One figure held against its limit: pass, borderline or fail, with where the limit comes from.

Borderline is a verdict of its own: within the uncertainty of the reading itself on either side of the limit, another
reading could say the opposite. This module must never know which figures a pair has.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from dispensing.trade.facts import figure
from dispensing.trade.tolerances import FROM_MEMORY, NOISE, ToleranceRow
from orders.documents.finished_pair import Quantity, Result, VerdictItem

PairEye = Literal["right", "left", "both"]
DOUBT = "reading-a-finished-pair"
UNITS: dict[Quantity, str] = {
    "meridian_high": "D",
    "meridian_low": "D",
    "cylinder": "D",
    "axis": "°",
    "add": "D",
    "prism_horizontal": "Δ",
    "prism_vertical": "Δ",
    "height": "mm",
    "heights_pair": "mm",
    "pd": "mm",
    "centre_thickness": "mm",
    "base_curve": "D",
}
DOUBTS = {"D": "power_d", "°": "axis_deg", "Δ": "prism_pd", "mm": "centre_mm"}


@dataclass(frozen=True)
class Missing:
    """A figure without which the pair cannot be accepted, and which nobody has read."""

    eye: PairEye
    quantity: Quantity


def uncertainty(quantity: Quantity) -> float:
    """How far a reading of this quantity may be off by itself, either way, in its own unit."""
    name = "thickness_mm" if quantity == "centre_thickness" else DOUBTS[UNITS[quantity]]
    return figure(DOUBT, name)


def result_of(error: float, tolerance: float, doubt: float) -> Result:
    """The verdict on an error that may be up to ``doubt`` more or less than it was read; all in one unit."""
    size = abs(error)
    if size > tolerance + doubt + NOISE:
        return "fail"
    return "pass" if size < tolerance - doubt - NOISE else "borderline"


def judged(
    eye: PairEye,
    quantity: Quantity,
    row: ToleranceRow,
    *,
    ordered: float,
    found: float,
    tolerance: float,
    error: float | None = None,
) -> VerdictItem:
    """The item for one figure. error: found less ordered, where that is not the plain difference (an axis)."""
    off = found - ordered if error is None else error
    return VerdictItem(
        eye=eye,
        quantity=quantity,
        ordered=tidy(ordered),
        found=tidy(found),
        tolerance=tidy(tolerance),
        result=result_of(off, tolerance, uncertainty(quantity)),
        extra=_origin(row) | {"unit": UNITS[quantity], "error": tidy(off), "uncertainty": uncertainty(quantity)},
    )


def tidy(value: float) -> float:
    """Without the binary leftovers of a difference; no figure has more digits."""
    return round(value, 6) + 0.0


def _origin(row: ToleranceRow) -> dict[str, object]:
    """Which limit it was and how far to trust it; a practice's own is named beside the standard's."""
    said: dict[str, object] = {
        "limit": row.limit.label,
        "limit_name": row.limit.name,
        "source": row.origin.source,
        "grade": row.origin.grade,
    }
    if not row.is_confirmed:
        said["caution"] = FROM_MEMORY
    if row.is_own:
        said["own_limit"] = {"here": row.written, "standard": row.limit.written()}
    return said
