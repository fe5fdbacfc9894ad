"""Limits about days."""

from __future__ import annotations

from datetime import timedelta

from tests.orders.rules.edges.edge import ABOVE, BELOW, ORDERED_ON, SINGLE, Edge, of_age

EDGES: tuple[Edge, ...] = (
    Edge(
        "promise-date",
        "single_vision_days",
        3,
        BELOW,
        lambda q: {"needed_on": {2: "2026-11-27", 3: "2026-11-30", 4: "2026-12-01"}[round(q)]},
        eye=None,
        step=1,
        besides=SINGLE,
    ),
    Edge(
        "promise-date",
        "special_days",
        10,
        BELOW,
        lambda q: {"needed_on": f"2026-12-{round(q) - 1:02d}"},
        eye=None,
        step=1,
        besides={"lenses.right.treatments": ["tint-light"], "lenses.left.treatments": ["tint-light"]},
    ),
    Edge(
        "promise-date",
        "latest_days",
        180,
        ABOVE,
        lambda q: {"needed_on": (ORDERED_ON + timedelta(days=round(q))).isoformat()},
        eye=None,
        step=1,
    ),
    Edge("dates-make-sense", "oldest_years", 105, ABOVE, of_age, eye=None, step=1),
)
