"""The vertex distances, tilts and face forms that are usual, within what the practice takes at all."""

from __future__ import annotations

from dispensing.trade.limits import Limits

Band = tuple[float, float]
"""Lowest and highest, mm or degrees."""


def usual_vertex_mm(limits: Limits) -> Band:
    return _usual(limits, "vertex-band", "mm")


def usual_tilt_deg(limits: Limits) -> Band:
    return _usual(limits, "pantoscopic-band", "deg")


def dress_face_form_deg(limits: Limits) -> Band:
    """Of fronts that are no wraps."""
    rule = "face-form-band"
    return limits.of(rule, "least_deg"), min(limits.of(rule, "usual_most_deg"), limits.of(rule, "most_deg"))


def wrap_face_form_deg(limits: Limits) -> Band:
    rule = "face-form-band"
    return limits.of(rule, "wrap_least_deg"), min(limits.of(rule, "wrap_most_deg"), limits.of(rule, "most_deg"))


def _usual(limits: Limits, rule: str, unit: str) -> Band:
    """A practice whose own limit lies within what is usual elsewhere means its own."""
    low = max(limits.of(rule, f"usual_least_{unit}"), limits.of(rule, f"least_{unit}"))
    return low, min(limits.of(rule, f"usual_most_{unit}"), limits.of(rule, f"most_{unit}"))
