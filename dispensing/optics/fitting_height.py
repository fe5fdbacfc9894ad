"""How high a progressive lens must be fitted for the frame to leave its whole near circle.

The figure is found by moving the near circle over the shape itself. Heights are mm above the lowest point of the shape,
places mm in the wearer's frame (in +, up +) from the boxed centre; figures are exact for the polygon through the
shape's radii. This module must never know a design or the limits a lab sets.
"""

from __future__ import annotations

import numpy as np

from dispensing.optics import outline
from dispensing.optics.arrays import FloatArray
from dispensing.optics.boxing import LensShape
from dispensing.optics.errors import OpticsError, require_range

TOUCHING_MM = 1e-9


def minimum_fitting_height(
    shape: LensShape,
    cross_in_mm: float,
    *,
    corridor_mm: float,
    near_inset_mm: float,
    near_zone_radius_mm: float,
    inside_mm: float = 0.0,
) -> float:
    """The lowest fitting height in mm at which the frame leaves the whole near circle, and `inside_mm` round it.

    cross_in_mm: the cross from the boxed centre, in +. corridor_mm: from the cross down to the centre of the near
    circle, which lies near_inset_mm nasal of it. Raises OpticsError where no height will do, because the circle is too
    large for the shape there.
    """
    corridor = require_range("corridor length", corridor_mm, "mm", 0.0, 50.0)
    across = require_range("place of the cross, in", cross_in_mm, "mm", -100.0, 100.0)
    across += require_range("near inset", near_inset_mm, "mm", -20.0, 20.0)
    radius = require_range("radius of the zone", near_zone_radius_mm, "mm", 0.01, 50.0)
    radius += require_range("distance of the zone inside the edge", inside_mm, "mm", 0.0, 20.0)
    return lowest_centre(shape, across, radius) + corridor + shape.b_mm / 2.0


def lowest_centre(shape: LensShape, in_mm: float, clear_radius_mm: float) -> float:
    """The lowest place (up, mm) on the vertical line at `in_mm` where a circle's centre may lie with the circle whole.

    A centre is too near a side while it lies within the side grown by the radius; the vertical line crosses that convex
    figure in one stretch. The lowest free place is where the stretches that begin at the lower edge end.
    """
    radius = require_range("radius of the circle", clear_radius_mm, "mm", 0.01, 100.0)
    lowest, highest = shape.heights_at(in_mm)
    low, high = _too_near(shape.points_in_up(), in_mm, radius)
    free = lowest
    for start, end in sorted(zip(low.tolist(), high.tolist(), strict=True)):
        if start > free + TOUCHING_MM:
            break
        free = max(free, end)
    if free > highest or not bool(shape.contains(in_mm, free)):
        raise OpticsError("radius of the circle", clear_radius_mm, "mm", "small enough for the shape at that place")
    return free


def _too_near(points: FloatArray, x: float, radius: float) -> tuple[FloatArray, FloatArray]:
    """For each side nearer the vertical line at `x` than the radius, the ends of the stretch that is too near."""
    after = outline.next_points(points)
    run = after - points
    length = np.hypot(run[:, 0], run[:, 1])
    normal = np.stack([-run[:, 1], run[:, 0]], axis=1) * (radius / np.where(length > 0.0, length, 1.0))[:, None]
    across = np.stack([points[:, 0] - x, after[:, 0] - x])
    reach = np.sqrt(np.maximum(radius**2 - across**2, 0.0))
    at_corner = np.abs(across) < radius
    ends = np.stack([points[:, 1], after[:, 1]])
    below, above = np.where(at_corner, ends - reach, np.inf), np.where(at_corner, ends + reach, -np.inf)
    for sign in (1.0, -1.0):
        start = points + sign * normal
        share = (x - start[:, 0]) / np.where(run[:, 0] == 0.0, np.inf, run[:, 0])
        beside = (run[:, 0] != 0.0) & (share >= 0.0) & (share <= 1.0)
        y = start[:, 1] + share * run[:, 1]
        below = np.vstack([below, np.where(beside, y, np.inf)])
        above = np.vstack([above, np.where(beside, y, -np.inf)])
    low, high = below.min(axis=0), above.max(axis=0)
    met = low < high
    return low[met], high[met]
