"""Limits about the frame and heights in it."""

from __future__ import annotations

from tests.orders.rules.edges.edge import ABOVE, BELOW, FROM, SINGLE, Edge, field

EDGES: tuple[Edge, ...] = (
    Edge("box-sane", "a_least_mm", 35.0, BELOW, field("frame.a_mm"), eye=None, besides={"frame.b_mm": 28.0}),
    Edge("box-sane", "a_most_mm", 70.0, ABOVE, field("frame.a_mm"), eye=None),
    Edge("box-sane", "b_least_mm", 18.0, BELOW, field("frame.b_mm"), eye=None),
    Edge("box-sane", "b_most_mm", 60.0, ABOVE, field("frame.b_mm"), eye=None, besides={"frame.a_mm": 66.0}),
    Edge("box-sane", "dbl_least_mm", 10.0, BELOW, field("frame.dbl_mm"), eye=None),
    Edge("box-sane", "dbl_most_mm", 26.0, ABOVE, field("frame.dbl_mm"), eye=None),
    Edge("box-sane", "deeper_than_wide_mm", 1.0, ABOVE, field("frame.b_mm", 1.0, 50.0), eye=None),
    Edge("decentration", "in_max_mm", 4.0, ABOVE, field("fitting.right.pd_mm", -1.0, 34.0)),
    Edge(
        "clearance-above",
        "least_mm",
        8.0,
        BELOW,
        field("fitting.right.height_mm", -1.0, 20.5 + 15.201159579),
        step=0.05,
        catalogue_null=("designs.progressive.clearance_above_mm",),
    ),
    Edge("heights-differ", "difference_mm", 1.0, ABOVE, field("fitting.right.height_mm", -1.0, 21.0), eye="both"),
    Edge(
        "heights-differ",
        "repeat_mm",
        2.5,
        ABOVE,
        field("fitting.right.height_mm", -1.0, 21.0),
        eye="both",
        says="Level the frame and measure again.",
    ),
    Edge("pupil-in-frame", "nasal_half_share", 0.5, ABOVE, field("fitting.right.pd_mm", -25.0, 34.0), step=0.01),
    Edge(
        "optical-centre-drop",
        "power_d",
        4.0,
        FROM,
        field("prescription.right.sphere", -1.0, 0.75),
        besides=SINGLE,
    ),
    Edge(
        "optical-centre-drop",
        "tilt_deg",
        5.0,
        ABOVE,
        field("fitting.pantoscopic_deg"),
        besides=SINGLE | {"prescription.right.sphere": -5.0},
    ),
)
