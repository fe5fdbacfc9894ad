"""The lens shape in the boxing system (ISO 8624): radii from the boxed centre, and everything read off them.

A shape is the closed polygon through its radii. Box, ED, distances, area and containment are exact for that
polygon; a smooth rim bulges beyond its chords by s²/(8R) at most (0.001 mm for 400 radii, 0.1 mm for 36),
which is how much any figure here can differ from the rim itself.

Two frames of reference, both with the boxed centre as origin, both as seen from the front, facing the wearer: *viewer*
(x to the viewer's right, y up), in which radii are recorded; *wearer* (`in` towards the nose, `up` towards the brow),
in which decentration and everything after it is stated. The right lens lies on the viewer's left, so its `in` is the
viewer's +x; the left lens's `in` is the viewer's −x. This module must never know about lenses or orders.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from dispensing.optics import outline
from dispensing.optics.arrays import FloatArray, as_numbers, finite_array, read_only
from dispensing.optics.conventions import Eye, nasal_sign, other_eye, require_eye
from dispensing.optics.errors import OpticsError, require_finite, require_range

FEWEST_RADII = 36
MOST_RADII = 20_000
LONGEST_RADIUS_MM = 100.0


@dataclass(frozen=True, eq=False)
class LensShape:
    """One lens shape: `radii_mm` from the boxed centre at equal angles, and the side it belongs to.

    radii_mm: read-only array, mm, counter-clockwise as seen from the front, the first at 0° = the viewer's
    right (nasal for a right lens, temporal for a left one), at least 36. `side`: the wearer's own 'right' or
    'left'. Raises OpticsError for too few radii, or any that is not a number above 0 and up to 100 mm.
    """

    radii_mm: FloatArray | Sequence[float]
    side: Eye
    _radii: FloatArray = field(init=False, repr=False)

    def __post_init__(self) -> None:
        radii = read_only(as_numbers("radii of the shape", self.radii_mm, "mm"))
        if radii.ndim != 1 or not FEWEST_RADII <= radii.size <= MOST_RADII:
            allowed = f"{FEWEST_RADII} to {MOST_RADII} in one row"
            raise OpticsError("number of radii", radii.size, "", allowed, "Trace the shape again.")
        require_eye(self.side)
        wrong = ~((radii > 0.0) & (radii <= LONGEST_RADIUS_MM))
        if wrong.any():
            first = int(np.argmax(wrong))
            allowed = f"above 0 and up to {LONGEST_RADIUS_MM:g} mm"
            raise OpticsError(f"radius {first + 1} of the shape", float(radii[first]), "mm", allowed)
        object.__setattr__(self, "radii_mm", radii)
        object.__setattr__(self, "_radii", radii)

    @property
    def radii(self) -> FloatArray:
        """The radii as an array, which they always are once constructed, mm, shape (n,)."""
        return self._radii

    @property
    def count(self) -> int:
        """How many radii describe the shape."""
        return int(self.radii.size)

    @property
    def in_sign(self) -> float:
        """+1 when `in` is the viewer's right (right lens), −1 when it is the viewer's left (left lens)."""
        return nasal_sign(self.side)

    @cached_property
    def _viewer_points(self) -> FloatArray:
        return read_only(outline.directions(self.count) * self.radii[:, None])

    @cached_property
    def _wearer_points(self) -> FloatArray:
        return read_only(self._viewer_points * np.array([self.in_sign, 1.0]))

    def angles_deg(self) -> FloatArray:
        """Angle of each radius, degrees, counter-clockwise from the viewer's right, shape (n,)."""
        return np.arange(self.count, dtype=np.float64) * (360.0 / self.count)

    @cached_property
    def viewer_x(self) -> FloatArray:
        """x of the corners alone, mm, shape (n,): contiguous in memory, for work on many shapes at once."""
        return read_only(self._viewer_points[:, 0])

    @cached_property
    def viewer_y(self) -> FloatArray:
        """y of the corners alone, mm, shape (n,)."""
        return read_only(self._viewer_points[:, 1])

    def points(self) -> FloatArray:
        """Corner points in the viewer's frame, mm, shape (n, 2): x to the viewer's right, y up. Read-only."""
        return self._viewer_points

    def points_in_up(self) -> FloatArray:
        """The same points in the same order, in the wearer's frame, mm, shape (n, 2): in +, up +. Read-only."""
        return self._wearer_points

    @cached_property
    def box(self) -> outline.Box:
        """Left, right, bottom and top of the box in the viewer's frame, mm."""
        return outline.box_of(self.points())

    @property
    def a_mm(self) -> float:
        """A: width of the box, mm (ISO 8624)."""
        return self.box[1] - self.box[0]

    @property
    def b_mm(self) -> float:
        """B: height of the box, mm (ISO 8624)."""
        return self.box[3] - self.box[2]

    @cached_property
    def ed_mm(self) -> float:
        """Effective diameter: twice the longest radius from the boxed centre, mm.

        The radii are assumed to run from the boxed centre; for a raw trace use `recentred` first.
        """
        return float(2.0 * self.radii.max())

    @cached_property
    def circumference_mm(self) -> float:
        """Length of the outline in the plane of the box, mm (without bevel, without face form)."""
        return outline.length_of(self.points())

    @property
    def off_centre_in_up_mm(self) -> tuple[float, float]:
        """How far the centre of the box lies from the origin of the radii, mm (in, up); 0, 0 for a true
        record.
        """
        left, right, bottom, top = self.box
        return self.in_sign * (left + right) / 2.0, (bottom + top) / 2.0

    def mirrored(self) -> LensShape:
        """The fellow eye's shape: the mirror image, on the other side. Exactly reversible for an even number of radii.

        With an odd number the mirrored angles fall between the recorded ones, so the outline is read again.
        """
        other = other_eye(self.side)
        if self.count % 2 == 0:
            half = self.count // 2
            return self._of_same_radii(self.radii[(half - np.arange(self.count)) % self.count], other)
        flipped = (self.points() * np.array([-1.0, 1.0]))[::-1]
        left, right, bottom, top = self.box
        return LensShape(outline.radii_in_box(flipped, self.count, (-right, -left, bottom, top)), other)

    @classmethod
    def _of_same_radii(cls, radii: FloatArray, side: Eye) -> LensShape:
        """A shape of radii that have been looked at already."""
        shape = object.__new__(cls)
        radii.setflags(write=False)
        for name, value in (("radii_mm", radii), ("_radii", radii), ("side", side)):
            object.__setattr__(shape, name, value)
        return shape

    def resampled(self, count: int) -> LensShape:
        """The same outline with `count` radii; the box does not change. Raises OpticsError below 36 radii."""
        require_range("number of radii", count, "", FEWEST_RADII, MOST_RADII)
        return LensShape(outline.radii_in_box(self.points(), count, self.box), self.side)

    def recentred(self) -> LensShape:
        """The same outline with radii from its true boxed centre, since a tracer's origin may lie a little off it.

        Raises OpticsError when part of the outline cannot be seen from that centre.
        """
        if max(map(abs, self.off_centre_in_up_mm)) < outline.BOX_FIT_TOLERANCE:
            return self
        half_a, half_b = self.a_mm / 2.0, self.b_mm / 2.0
        box = (-half_a, half_a, -half_b, half_b)
        centre = np.array([self.box[0] + half_a, self.box[2] + half_b])
        return LensShape(outline.radii_in_box(self.points() - centre, self.count, box), self.side)

    def contains(self, in_mm: float | FloatArray, up_mm: float | FloatArray) -> NDArray[np.bool_]:
        """Whether points (mm, wearer's frame) lie inside or on the outline; arrays give an array. Exact."""
        x, y = finite_array("place, in", in_mm, "mm") * self.in_sign, finite_array("place, up", up_mm, "mm")
        at = np.stack(np.broadcast_arrays(x, y), axis=-1)
        step = 2.0 * np.pi / self.count
        turn = np.mod(np.arctan2(at[..., 1], at[..., 0]), 2.0 * np.pi)
        sector = np.floor(turn / step).astype(np.intp) % self.count
        corner = self.points()[sector]
        side = self.points()[(sector + 1) % self.count] - corner
        return np.asarray(outline.cross(side, at - corner) >= 0.0)

    def nearest_edge_distance(self, in_mm: float, up_mm: float) -> float:
        """Distance from a point (mm, wearer's frame) to the nearest edge, mm: + inside, − outside. Exact."""
        at = np.array([require_finite("place, in", in_mm, "mm"), require_finite("place, up", up_mm, "mm")])
        distance = outline.distance_to_outline(self.points_in_up(), at)
        return distance if self._holds(at) else -distance

    def _holds(self, at: FloatArray) -> bool:
        """Whether one point, shape (2,), lies inside or on the outline: `contains`, much quicker for a single one."""
        x, y = at[0] * self.in_sign, at[1]
        turn = np.mod(np.arctan2(y, x), 2.0 * np.pi)
        sector = int(np.floor(turn / (2.0 * np.pi / self.count))) % self.count
        (x_0, y_0), (x_1, y_1) = self.points()[sector], self.points()[(sector + 1) % self.count]
        return bool((x_1 - x_0) * (y - y_0) - (y_1 - y_0) * (x - x_0) >= 0.0)

    def heights_at(self, in_mm: float) -> tuple[float, float]:
        """Lowest and highest edge (`up`, mm) on the vertical line at `in_mm`.

        Raises OpticsError when the line misses the shape.
        """
        place = require_finite("place of the upright line, in", in_mm, "mm")
        points = self.points_in_up()
        low, high = outline.heights_over(points, np.array([place]))
        if not np.isfinite(low[0]):
            allowed = f"{points[:, 0].min():.2f} to {points[:, 0].max():.2f} mm, where the shape is"
            raise OpticsError("place of the upright line, in", round(place, 2), "mm", allowed)
        return float(low[0]), float(high[0])
