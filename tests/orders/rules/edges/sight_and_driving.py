"""Limits about sight, falls and driving."""

from __future__ import annotations

from tests.orders.rules.edges.edge import ABOVE, BELOW, FROM, NO_PREVIOUS, UP_TO, Changes, Edge, field, of_age


def _tint_in_words(q: float) -> Changes:
    """A right lens that lets so much light through, as its tint's depth in words has it."""
    return {"lenses.right.treatments": ["tint-free"], "lenses.right.colour": f"grey {100.0 - q:.2f} %"}


def _blue_tint(q: float) -> Changes:
    return {"lenses.right.treatments": ["tint-free"], "lenses.right.colour": f"blue {100.0 - q:.2f} %"}


def _apart_from_the_list(q: float) -> Changes:
    """A tint of the list that lets 85 % through, and words that say less."""
    return {"lenses.right.treatments": ["tint-light"], "lenses.right.colour": f"grey {15.0 + q:.2f} %"}


def _seen_with(q: float) -> Changes:
    return {f"prescription.{eye}.acuity": f"{q:.2f} decimal" for eye in ("right", "left")}


def _frosted(q: float) -> Changes:
    return {"lenses.right.instruction": "frosted", "prescription.right.acuity": f"{q:.2f} decimal"}


EDGES: tuple[Edge, ...] = (
    # Sight and falls
    Edge("near-print", "n_points", 8.0, ABOVE, lambda q: {"prescription.right.acuity": f"6/6 N{q:.2f}"}),
    Edge("near-print", "jaeger_number", 7.0, ABOVE, lambda q: {"prescription.right.acuity": f"6/6 J{q:.0f}"}, step=1),
    Edge("near-print", "m_units", 1.0, ABOVE, lambda q: {"prescription.right.acuity": f"6/6 {q:.2f} M"}),
    Edge("near-print", "far_acuity", 0.5, FROM, lambda q: {"prescription.right.acuity": f"{q:.2f} decimal N24"}),
    Edge("low-acuity-eye", "useful_acuity", 0.5, FROM, _frosted),
    Edge("first-progressive-late", "unknown_years", 80, FROM, of_age, eye=None, step=1, null=NO_PREVIOUS),
    # Driving
    Edge(
        "category-four",
        "sunglass_percent",
        3.0,
        BELOW,
        _tint_in_words,
        says="darker than any category",
        besides={"patient.driver": False},
    ),
    Edge("category-four", "transmittance_percent", 8.0, UP_TO, _tint_in_words, "stop"),
    Edge("night-driving", "transmittance_percent", 75.0, BELOW, _tint_in_words),
    Edge("traffic-signals", "transmittance_percent", 80.0, BELOW, _blue_tint),
    Edge("driving-asked", "youngest_years", 14, BELOW, of_age, eye=None, step=1),
    Edge("driving-sight", "least_acuity", 0.5, BELOW, _seen_with, eye=None, besides={"practice.country": "US-TX"}),
    Edge("tint-stated", "apart_percent", 5.0, ABOVE, _apart_from_the_list),
    Edge(
        "drill-material",
        "child_below_years",
        16,
        BELOW,
        of_age,
        eye=None,
        step=1,
        besides={"frame.mount": "drilled"},
    ),
    Edge("pantoscopic-band", "least_deg", 0.0, BELOW, field("fitting.pantoscopic_deg"), eye=None),
    Edge("face-form-band", "least_deg", 0.0, BELOW, field("fitting.face_form_deg"), eye=None),
)
