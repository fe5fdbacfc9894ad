"""The usual vertex distances, tilts and face forms, within what the practice accepts at all."""

from __future__ import annotations

from dispensing.trade.limits import Limits

TEN = 10.0

Band = tuple[float, float]
"""Lowest and highest, mm or degrees."""


def usual_vertex_mm(limits: Limits) -> Band:
    return _usual(limits, "vertex-band", "mm")


def possible_vertex_mm(value: float | None, limits: Limits) -> float | None:
    """The distance, if a lens can sit that far from an eye; None for a slip, from which nothing may be worked out."""
    low, high = limits.of("vertex-band", "possible_least_mm"), limits.of("vertex-band", "possible_most_mm")
    return value if value is not None and low <= value <= high else None


def vertex_meant_mm(slip: float, limits: Limits) -> float | None:
    """What a slip was probably meant to be, its decimal point moved one place: 12 for 120 and for 1.2; else None."""
    meant = (slip / TEN, slip * TEN)
    return next((value for value in meant if possible_vertex_mm(value, limits) is not None), None)


def usual_tilt_deg(limits: Limits) -> Band:
    return _usual(limits, "pantoscopic-band", "deg")


def dress_face_form_deg(limits: Limits) -> Band:
    """The usual face form of fronts that are not wraps."""
    rule = "face-form-band"
    return limits.of(rule, "least_deg"), min(limits.of(rule, "usual_most_deg"), limits.of(rule, "most_deg"))


def wrap_face_form_deg(limits: Limits) -> Band:
    rule = "face-form-band"
    return limits.of(rule, "wrap_least_deg"), min(limits.of(rule, "wrap_most_deg"), limits.of(rule, "most_deg"))


def _usual(limits: Limits, rule: str, unit: str) -> Band:
    """The usual band; if a practice's own limit is inside what is usual elsewhere, its own limit applies."""
    low = max(limits.of(rule, f"usual_least_{unit}"), limits.of(rule, f"least_{unit}"))
    return low, min(limits.of(rule, f"usual_most_{unit}"), limits.of(rule, f"most_{unit}"))
