"""Limits about the position of wear."""

from __future__ import annotations

from tests.orders.rules.edges.edge import ABOVE, BELOW, FROM, NO_PREVIOUS, SINGLE, Edge, field, imbalance

EDGES: tuple[Edge, ...] = (
    Edge("vertex-band", "usual_least_mm", 12.0, BELOW, field("fitting.right.vertex_mm")),
    Edge("vertex-band", "usual_most_mm", 15.0, ABOVE, field("fitting.right.vertex_mm")),
    Edge("vertex-band", "least_mm", 8.0, BELOW, field("fitting.right.vertex_mm"), says="adjust the frame"),
    Edge("vertex-band", "most_mm", 18.0, ABOVE, field("fitting.right.vertex_mm"), says="adjust the frame"),
    Edge("vertex-band", "possible_least_mm", 6.0, BELOW, field("prescription.vertex_mm"), eye=None),
    Edge("vertex-band", "possible_most_mm", 20.0, ABOVE, field("prescription.vertex_mm"), eye=None),
    Edge(
        "vertical-imbalance",
        "one_distance_pd",
        2.0,
        FROM,
        imbalance,
        eye="both",
        null=NO_PREVIOUS,
        besides=SINGLE | {"prescription.use": "distance"},
    ),
    Edge(
        "decentration",
        "in_known_mm",
        7.0,
        ABOVE,
        lambda q: {"frame.a_mm": 45.0 + 2.0 * q, "frame.ed_mm": 46.0 + 2.0 * q},
        besides={"lenses.right.blank_mm": None, "prescription.right.sphere": -0.5},
        catalogue=lambda q: {
            "designs.progressive.blanks": [{"diameter_mm": 90.0, "centre_in_mm": 0, "centre_up_mm": 0}]
        },
    ),
)
