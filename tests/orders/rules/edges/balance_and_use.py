"""Limits about binocular balance, the use of the pair and ordered powers."""

from __future__ import annotations

from tests.orders.rules.edges.edge import (
    ABOVE,
    FROM,
    NO_PREVIOUS,
    SINGLE,
    Changes,
    Edge,
    field,
    imbalance,
    of_age,
    spheres,
)


def _more_imbalance(q: float) -> Changes:
    """One prism dioptre last time, and so much more now."""
    return spheres((-2.0, -3.0 - q), (-2.0, -3.0))


def _add_beyond_a_metre(q: float) -> Changes:
    """A metre asks for one dioptre; the right add is so much more."""
    return {"fitting.near_distance_mm": 1000, "prescription.right.add": 1.0 + q}


CARRIED_NOWHERE = {"power_basis": "carried_to_vertex", "fitting.right.vertex_mm": 12.0}
"""Worn where it was tested, so that the carried power is the prescribed one."""


def _stated_off(q: float) -> Changes:
    """A stated power whose sphere is so far from the prescribed one."""
    return {"lenses.right.power": {"sphere": -2.25 - q, "cylinder": -0.75, "axis": 170}}


EDGES: tuple[Edge, ...] = (
    # Binocular balance
    Edge("vertical-imbalance", "most_pd", 1.0, FROM, imbalance, eye="both", null=NO_PREVIOUS),
    Edge("vertical-imbalance", "slab_pd", 1.5, FROM, imbalance, eye="both", says="slab-off", null=NO_PREVIOUS),
    Edge("vertical-imbalance", "worn_within_pd", 0.25, ABOVE, _more_imbalance, eye="both"),
    Edge(
        "vertical-imbalance",
        "shared_above_pd",
        6.0,
        ABOVE,
        imbalance,
        eye="both",
        says="base down on the right lens",
        null=NO_PREVIOUS,
    ),
    # Use of the pair and ordered powers
    Edge(
        "use-and-design",
        "add_from_years",
        50,
        FROM,
        of_age,
        eye="both",
        step=1,
        besides={**SINGLE, "use": "near"},
        null=("prescription.right.add", "prescription.left.add", *NO_PREVIOUS),
    ),
    Edge("working-distance", "add_too_strong_d", 1.0, ABOVE, _add_beyond_a_metre, eye=None),
    Edge(
        "working-distance",
        "add_too_weak_d",
        1.0,
        ABOVE,
        field("prescription.right.add", -1.0, 2.5),
        eye=None,
        besides=of_age(70),
    ),
    Edge("ordered-power", "exact_d", 0.06, ABOVE, _stated_off),
    Edge("ordered-power", "rounding_d", 0.125, ABOVE, _stated_off, besides=CARRIED_NOWHERE),
)
