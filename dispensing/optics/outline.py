"""Plane geometry of closed outlines: arrays of corner points, counter-clockwise, the last joined to the first.

Everything here is exact for the polygon through the points. It knows no eyes, no lenses and no units: lengths come out
in the unit they went in with (the rest of the core uses mm). It must never know about frames or orders.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.errors import OpticsError

BOX_FIT_TOLERANCE = 1e-9  # mm; far below anything that can be measured
BOX_FIT_ROUNDS = 60

Box = tuple[float, float, float, float]
"""Left, right, bottom, top of the enclosing box."""


def cross(first: FloatArray, second: FloatArray) -> FloatArray:
    """z part of the cross product of plane vectors, shapes (..., 2) → (...)."""
    result: FloatArray = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    return result


def next_points(points: FloatArray) -> FloatArray:
    """For each corner, the next one round the outline, shape (n, 2)."""
    return np.concatenate([points[1:], points[:1]])


def box_of(points: FloatArray) -> Box:
    """The enclosing box of the points, with horizontal and vertical sides."""
    low, high = points.min(axis=0), points.max(axis=0)
    return float(low[0]), float(high[0]), float(low[1]), float(high[1])


def area_of(points: FloatArray) -> float:
    """Enclosed area (shoelace formula), positive for a counter-clockwise outline."""
    return float(0.5 * cross(points, next_points(points)).sum())


def length_of(points: FloatArray) -> float:
    """Length of the closed outline."""
    steps = next_points(points) - points
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum())


def distance_to_outline(points: FloatArray, at: FloatArray) -> float:
    """Shortest distance from the point `at`, shape (2,), to any side of the outline; exact, ≥ 0."""
    sides = next_points(points) - points
    to_point = at - points
    squared = np.einsum("ij,ij->i", sides, sides)
    share = np.einsum("ij,ij->i", to_point, sides) / np.where(squared > 0.0, squared, 1.0)
    gap = to_point - np.clip(share, 0.0, 1.0)[:, None] * sides
    return float(np.hypot(gap[:, 0], gap[:, 1]).min())


def heights_over(points: FloatArray, xs: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Lowest and highest y of the outline on the vertical lines at `xs`, each shape (k,); exact.

    A line that misses the outline gives +inf, −inf.
    """
    after = next_points(points)
    x = xs[:, None]
    met = (np.minimum(points[:, 0], after[:, 0]) <= x) & (x <= np.maximum(points[:, 0], after[:, 0]))
    run = after - points
    upright = run[:, 0] == 0.0
    share = np.where(upright, 0.0, (x - points[:, 0]) / np.where(upright, 1.0, run[:, 0]))
    y = points[:, 1] + share * run[:, 1]
    low = np.where(met, np.where(upright, np.minimum(y, after[:, 1]), y), np.inf).min(axis=1)
    high = np.where(met, np.where(upright, np.maximum(y, after[:, 1]), y), -np.inf).max(axis=1)
    return low, high


@cache
def directions(count: int) -> FloatArray:
    """Unit vectors at `count` equally spaced angles, the first at 0°, counter-clockwise, shape (count, 2). Read-only.

    The four quarter directions come out without rounding noise, so that a box read off the points is exact.
    """
    angles = np.arange(count) * (2.0 * np.pi / count)
    unit = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    if count % 4 == 0:
        quarter = count // 4
        unit[[0, quarter, 2 * quarter, 3 * quarter]] = [[1, 0], [0, 1], [-1, 0], [0, -1]]
    unit.setflags(write=False)
    return unit


def radii_at_equal_angles(points: FloatArray, count: int) -> FloatArray:
    """Distance from the origin to the outline along `count` equally spaced directions; exact.

    Raises OpticsError when some point of the outline cannot be seen from the origin (the angle must grow all the way
    round), since one radius per angle could not describe such an outline.
    """
    angles = np.unwrap(np.arctan2(points[:, 1], points[:, 0]))
    closed = np.append(angles, angles[0] + 2.0 * np.pi)
    if not np.all(np.diff(closed) > 0.0):
        raise OpticsError(
            "outline of the shape",
            "one that turns back on itself seen from its centre",
            "",
            "one radius at every angle",
            "Trace the shape again or give it from its own boxed centre.",
        )
    wanted = np.arange(count) * (2.0 * np.pi / count)
    wanted = closed[0] + np.mod(wanted - closed[0], 2.0 * np.pi)
    side = np.clip(np.searchsorted(closed, wanted, side="right") - 1, 0, len(points) - 1)
    start = points[side]
    along = next_points(points)[side] - start
    result: FloatArray = cross(start, along) / cross(directions(count), along)
    return result


def radii_in_box(points: FloatArray, count: int, box: Box) -> FloatArray:
    """Radii at `count` equal angles of the outline stretched so that the points found fill `box` exactly.

    Reading an outline at new angles shaves a little off its extremes (half a side's sagitta). The stretch is repeated
    until the box of the new points matches the wanted one within 1e-9. Raises OpticsError if that cannot be achieved.
    """
    want = np.array(box)
    stretch = _stretch(box_of(points), box)
    for _ in range(BOX_FIT_ROUNDS):
        radii = radii_at_equal_angles(points * stretch[0] + stretch[1], count)
        found = box_of(directions(count) * radii[:, None])
        if np.abs(np.array(found) - want).max() < BOX_FIT_TOLERANCE:
            return radii
        more = _stretch(found, box)
        stretch = (stretch[0] * more[0], stretch[1] * more[0] + more[1])
    raise OpticsError("number of radii", count, "", "enough to fill the box of the shape", "Use more radii.")


def _stretch(found: Box, want: Box) -> tuple[FloatArray, FloatArray]:
    """Scale and shift, each (x, y), that carry one box onto another."""
    scale = np.array([(want[1] - want[0]) / (found[1] - found[0]), (want[3] - want[2]) / (found[3] - found[2])])
    return scale, np.array([want[0], want[2]]) - scale * np.array([found[0], found[2]])
