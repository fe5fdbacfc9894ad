"""Orders of invented pairs, and readings of pairs that are exactly what was ordered, for tests to change."""

from __future__ import annotations

from typing import Any

from dispensing.documents import of_values
from orders.documents.finished_pair import FinishedReadings, FinishedVerdict, VerdictItem
from orders.documents.lens_order import LensOrder

DESIGNS: dict[str, dict[str, Any]] = {
    "single_vision": {"design": "sv-a", "extra": {"design_kind": "single_vision"}},
    "multifocal": {"design": "bf-a", "extra": {"design_kind": "bifocal"}},
    "progressive": {"design": "prog-a", "corridor_mm": 14.0, "extra": {"design_kind": "progressive"}},
}


def eye(
    sphere: float, cylinder: float = 0.0, axis: float | None = None, add: float | None = None, prism: Any = ()
) -> dict[str, Any]:
    """One eye of a prescription; prism as pairs of amount and base."""
    return {
        "sphere": sphere,
        "cylinder": cylinder,
        "axis": axis if cylinder else None,
        "add": add,
        "prism": [{"amount": amount, "base": base} for amount, base in prism],
    }


def order(right: dict[str, Any], left: dict[str, Any], kind: str = "single_vision", **lens: Any) -> LensOrder:
    """An order of a fitted pair for distance, or for distance and near where there is an add."""
    use = "distance" if kind == "single_vision" else "distance_and_near"
    made = {**DESIGNS[kind], **lens}
    return of_values(
        LensOrder,
        {
            "format": "lens-order/1",
            "number": "T-00042",
            "prescription": {"use": use, "right": right, "left": left},
            "fitting": {
                "right": {"pd_mm": 31.5, "height_mm": 21.0},
                "left": {"pd_mm": 32.0, "height_mm": 21.5},
            },
            "lenses": {"right": made, "left": made},
            "supply": "fitted",
        },
    )


def as_ordered(made: LensOrder) -> dict[str, Any]:
    """What would be read of a pair that is exactly what was ordered."""
    return {"format": "finished-readings/1", "right": _read(made, "right"), "left": _read(made, "left")}


def _read(made: LensOrder, side: Any) -> dict[str, Any]:
    written, lens, fitted = made.prescription.eye(side), made.lenses.eye(side), made.fitting.eye(side)
    assert lens is not None
    prism = {"in": 0.0, "out": 0.0, "up": 0.0, "down": 0.0}
    for part in written.prism:
        prism[part.base or "in"] += part.amount or 0.0
    return {
        "sphere": written.sphere,
        "cylinder": written.cylinder,
        "axis": written.axis,
        "add": written.add,
        "prism_in": prism["in"] - prism["out"],
        "prism_up": prism["up"] - prism["down"],
        "pd_mm": fitted.pd_mm,
        "height_mm": fitted.height_mm,
        "centre_thickness_mm": lens.centre_thickness_mm,
        "base_curve_d": lens.base_curve_d,
    }


def readings(values: dict[str, Any], **changes: float | None) -> FinishedReadings:
    """The readings with some of the right eye's changed."""
    return of_values(FinishedReadings, {**values, "right": {**values["right"], **changes}})


def item(verdict: FinishedVerdict, quantity: str, of: str = "right") -> VerdictItem:
    """The one item of this quantity and eye."""
    (found,) = [one for one in verdict.items if one.quantity == quantity and one.eye == of]
    return found


def said(one: VerdictItem, key: str) -> Any:
    """What an item says of itself besides its figures."""
    return (one.extra or {}).get(key)
