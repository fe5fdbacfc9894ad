"""Limits about pupil distances."""

from __future__ import annotations

from tests.orders.rules.edges.edge import ABOVE, BELOW, FROM, SINGLE, Changes, Edge, field, half_each, of_age

PDS_ALIKE = {"fitting.right.pd_mm": 32.0, "fitting.left.pd_mm": 32.0, "fitting.binocular_pd_mm": 64.0}


NO_PD = ("fitting.right.pd_mm",)


def _uneven(q: float) -> Changes:
    return {"fitting.left.pd_mm": 32.0, "fitting.binocular_pd_mm": 64.0 - 2.0 * q}


def _pd(q: float) -> Changes:
    return {"fitting.right.pd_mm": q / 2.0, "fitting.left.pd_mm": q / 2.0, "fitting.binocular_pd_mm": q}


def _far_apart(q: float) -> Changes:
    return {"fitting.right.pd_mm": 32.0 - q / 2.0, "fitting.left.pd_mm": 32.0 + q / 2.0}


def _far_apart_before(q: float) -> Changes:
    return {"fitting": {"right": {"pd_mm": 32.0 + q / 2.0}, "left": {"pd_mm": 32.0 - q / 2.0}}}


def _ten_years_before(a_year: float) -> Changes:
    """A PD that has grown by so much a year since then, both eyes alike, and by the 1.5 mm that readings may differ."""
    half = (1.5 + a_year * 3652 / 365.25) / 2.0
    return {"ordered_on": "2016-11-25", "fitting.right.pd_mm": 31.5 - half, "fitting.left.pd_mm": 32.0 - half}


RECORDED = "pd-as-recorded"


EDGES: tuple[Edge, ...] = (
    Edge(
        "monocular-pd-needed",
        "power_d",
        4.0,
        FROM,
        field("prescription.right.sphere", -1.0, 0.75),
        "stop",
        null=NO_PD,
        besides=SINGLE | PDS_ALIKE,
    ),
    Edge(
        "monocular-pd-needed",
        "face_form_deg",
        10.0,
        ABOVE,
        field("fitting.face_form_deg"),
        "stop",
        null=NO_PD,
        besides=SINGLE | PDS_ALIKE,
    ),
    Edge("monocular-pd-needed", "uneven_mm", 0.25, FROM, _uneven, "stop", null=NO_PD, besides=SINGLE),
    Edge("pd-sum", "difference_mm", 1.0, FROM, field("fitting.binocular_pd_mm", 1.0, 63.5), "stop", "both"),
    Edge("pd-range", "least_possible_mm", 48.0, BELOW, _pd, "stop", "both", step=0.5),
    Edge("pd-range", "most_possible_mm", 80.0, ABOVE, _pd, "stop", "both", step=0.5),
    Edge("pd-range", "adult_least_mm", 54.0, BELOW, _pd, "ask", "both", step=0.5),
    Edge("pd-range", "adult_most_mm", 74.0, ABOVE, _pd, "ask", "both", step=0.5),
    Edge(
        RECORDED,
        "difference_mm",
        1.5,
        ABOVE,
        lambda q: {},
        eye="both",
        others=lambda q: {"fitting.right.pd_mm": 31.5 - q},
    ),
    Edge(RECORDED, "a_year_mm", 0.1, ABOVE, lambda q: {}, eye="both", step=0.005, others=_ten_years_before),
    Edge(RECORDED, "uneven_mm", 1.0, FROM, _far_apart, eye="both", others=_far_apart_before),
    Edge(
        RECORDED,
        "from_years",
        18,
        FROM,
        of_age,
        eye="both",
        step=1,
        others=lambda q: {"fitting.right.pd_mm": 28.5},
    ),
    Edge(
        "near-pd",
        "least_percent",
        3.0,
        BELOW,
        half_each("near_pd_mm", 32.0, -0.32),
        eye="both",
        step=0.05,
        besides=PDS_ALIKE,
    ),
    Edge(
        "near-pd",
        "most_percent",
        9.0,
        ABOVE,
        half_each("near_pd_mm", 32.0, -0.32),
        eye="both",
        step=0.05,
        besides=PDS_ALIKE,
    ),
    Edge("pd-asymmetry", "difference_mm", 2.0, ABOVE, _far_apart, eye="both"),
    Edge("pd-asymmetry", "repeat_mm", 4.0, ABOVE, _far_apart, eye="both", says="Measure both again."),
)
