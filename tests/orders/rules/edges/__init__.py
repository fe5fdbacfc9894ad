"""Orders that lie just within, on and just beyond a limit of the trade, one row per limit, by what they are about.

``value`` is the published figure as it was looked up, independently of the table that the check reads: if a figure is
wrong there, an order falls on the wrong side here. The sources stand in the table of limits.
"""

from __future__ import annotations

from tests.orders.rules.edges import (
    balance_and_use,
    changes_of_the_prescription,
    curves_and_safety,
    days,
    frame_and_heights,
    position_of_wear,
    pupil_distances,
    sight_and_driving,
    thickness_and_materials,
)
from tests.orders.rules.edges.edge import ABOVE, FROM, Edge

EDGES: tuple[Edge, ...] = (
    *pupil_distances.EDGES,
    *frame_and_heights.EDGES,
    *changes_of_the_prescription.EDGES,
    *position_of_wear.EDGES,
    *sight_and_driving.EDGES,
    *thickness_and_materials.EDGES,
    *curves_and_safety.EDGES,
    *balance_and_use.EDGES,
    *days.EDGES,
)

__all__ = ["ABOVE", "EDGES", "FROM", "Edge"]
