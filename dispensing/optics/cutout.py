"""How much of the zones of a lens the frame leaves: the near circle, and the room above the fitting cross.

Positions are mm in the wearer's frame (in +, up +) from the boxed centre; figures are exact for the polygon through the
shape's radii. Limits (2 mm inside, 8 to 12 mm above) are set by the caller: nothing here knows a design or a rule.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.boxing import LensShape
from dispensing.optics.circles import Circle, area_of_circle_within
from dispensing.optics.errors import require_range
from dispensing.optics.outline import area_of, heights_over
from dispensing.trade import figure

CLEARANCE_WINDOW_MM = figure("clearance-above", "either_side_mm")
"""Room above the cross is judged from this far nasal to this far temporal of it, mm (common practice)."""

FARTHEST_MM = 200.0


@dataclass(frozen=True)
class ZoneInFrame:
    """A round zone of the lens compared with the shape.

    `margin_mm`: smallest distance from the zone's rim to the edge, + while the zone is whole, − when it is cut;
    `cut_share`: the part of its area that the frame cuts away, 0 to 1; `centre_in_up_mm`, `radius_mm`: the zone.
    """

    centre_in_up_mm: tuple[float, float]
    radius_mm: float
    margin_mm: float
    cut_share: float

    @property
    def whole(self) -> bool:
        """Whether the whole zone lies within the shape."""
        return self.margin_mm >= 0.0


def near_circle_centre(
    cross_in_mm: float, cross_up_mm: float, corridor_mm: float, near_inset_mm: float
) -> tuple[float, float]:
    """Centre of the near circle from the boxed centre, mm (in, up).

    It lies the corridor length below the fitting cross and `near_inset_mm` nasal of it.
    """
    across = _place("place of the cross, in", cross_in_mm) + _place("near inset", near_inset_mm)
    return across, _place("place of the cross, up", cross_up_mm) - _place("corridor length", corridor_mm)


def _place(quantity: str, value_mm: float) -> float:
    return require_range(quantity, value_mm, "mm", -FARTHEST_MM, FARTHEST_MM)


def zone_in_frame(shape: LensShape, centre_in_mm: float, centre_up_mm: float, radius_mm: float) -> ZoneInFrame:
    """How much of a round zone the frame leaves (see `ZoneInFrame`); mm. Raises OpticsError for a radius not
    > 0.
    """
    require_range("radius of the zone", radius_mm, "mm", 0.01, 50.0)
    _place("centre of the zone, in", centre_in_mm)
    _place("centre of the zone, up", centre_up_mm)
    margin = shape.nearest_edge_distance(centre_in_mm, centre_up_mm) - radius_mm
    if margin >= 0.0:
        return ZoneInFrame((centre_in_mm, centre_up_mm), radius_mm, margin, 0.0)
    x = centre_in_mm * shape.in_sign
    left = area_of_circle_within(shape.points(), Circle(x, centre_up_mm, radius_mm))
    share = 1.0 - left / (math.pi * radius_mm**2)
    return ZoneInFrame((centre_in_mm, centre_up_mm), radius_mm, margin, min(max(share, 0.0), 1.0))


def clearance_above(shape: LensShape, in_mm: float, up_mm: float, window_mm: float = CLEARANCE_WINDOW_MM) -> float:
    """Smallest height of the upper edge above a point, mm, from `window_mm` nasal of it to as far temporal.

    Only the part of that window within the shape counts, since beyond its sides there is no lens to look through.
    Negative when the edge dips below the point. The edge is straight between corners, so its lowest place is at a
    corner or at an end of the window. Raises OpticsError when the whole window misses the shape.
    """
    require_range("window", window_mm, "mm", 0.0, 50.0)
    _place("place of the cross, in", in_mm)
    _place("place of the cross, up", up_mm)
    points = shape.points_in_up()
    least, most = float(points[:, 0].min()), float(points[:, 0].max())
    low, high = in_mm - window_mm, in_mm + window_mm
    if high < least or low > most:
        shape.heights_at(in_mm)  # raises, saying how far the shape reaches
    ends = [max(low, least), min(high, most)]
    upper = _upper_corners(points)
    within = upper[(upper[:, 0] >= ends[0]) & (upper[:, 0] <= ends[1])]
    if bool(np.all(np.diff(upper[:, 0]) < 0.0)):
        # No overhang: the upper edge has just one height at each place from side to side.
        tops = np.append(within[:, 1], np.interp(ends, upper[::-1, 0], upper[::-1, 1]))
    else:
        tops = heights_over(points, np.concatenate([within[:, 0], ends]))[1]
    return float(tops.min()) - up_mm


def _upper_corners(points: FloatArray) -> FloatArray:
    """The corners met on the way round from one side of the shape over the brow to the other."""
    forward = points if area_of(points) > 0.0 else points[::-1]
    turned = np.roll(forward, -int(np.argmax(forward[:, 0])), axis=0)
    return turned[: int(np.argmin(turned[:, 0])) + 1]
