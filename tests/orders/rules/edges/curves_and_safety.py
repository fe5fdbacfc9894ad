"""Limits about curves, stock and safety."""

from __future__ import annotations

from tests.orders.rules.edges.edge import ABOVE, BELOW, UP_TO, Changes, Edge

AMERICAN_SAFETY: Changes = {"practice.country": "US", "remarks": "Z87.1 safety glasses"}


STRONG_PLUS: Changes = {"prescription.right.sphere": 3.0}


TOUGH: Changes = {"lenses.right.material": "tough", "lenses.left.material": "tough"}


def _centre(centre_mm: float) -> Changes:
    return {"lenses.right.centre_thickness_mm": centre_mm}


EDGES: tuple[Edge, ...] = (
    # Curves and stock
    Edge(
        "base-curve-for-power",
        "apart_d",
        4.0,
        ABOVE,
        lambda q: {"lenses.left.base_curve_d": 5.0 + q},
        eye="left",
    ),
    Edge(
        "base-curve-for-power",
        "follows_frame_d",
        1.0,
        ABOVE,
        lambda q: {"lenses.left.base_curve_d": 10.0, "frame.front_curve_d": 10.0 - q},
        eye="left",
    ),
    Edge(
        "in-range",
        "stock_cylinder_d",
        2.0,
        UP_TO,
        lambda q: {},
        besides={"prescription.right.sphere": -9.5},
        catalogue=lambda q: {"designs.progressive.cylinder_max": q},
    ),
    # Safety
    Edge("safety-job", "high_impact_mm", 2.0, BELOW, _centre, "stop", besides=AMERICAN_SAFETY | TOUGH),
    Edge("safety-job", "basic_impact_mm", 3.0, BELOW, _centre, "stop", besides=AMERICAN_SAFETY),
    Edge("safety-job", "basic_in_plus_mm", 2.5, BELOW, _centre, "stop", besides=AMERICAN_SAFETY | STRONG_PLUS),
    Edge(
        "safety-job",
        "strong_plus_d",
        3.0,
        BELOW,
        lambda q: {"prescription.right.sphere": q},
        "stop",
        step=0.25,
        besides=AMERICAN_SAFETY | _centre(2.8),
    ),
)
