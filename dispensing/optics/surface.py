"""Refracting surfaces: exact sag, curves stated for another index, light through a thick lens, and the toric back.

Units and signs: powers in D, radii and sags in mm, curvatures in 1/mm. A curvature is + when the centre of curvature
lies on the eye's side, so the front of a meniscus and its back both have + curvature; sag is measured from the apex
along the optical axis towards the eye. Functions take arrays as well as single numbers where their docstrings say so.
This module must never know about shapes, frames or orders.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from dispensing.optics.arrays import FloatArray, require_all
from dispensing.optics.bare_sags import bare_sag, bare_toric_sag, require_reach
from dispensing.optics.conventions import TOOLING_INDEX
from dispensing.optics.errors import OpticsError, require_range
from dispensing.optics.power import SphereCylinder
from dispensing.optics.turned_back import Turn, TurnedBacks, torus

LOWEST_INDEX, HIGHEST_INDEX = 1.3, 2.5
STEEPEST_D = 60.0
SHORTEST_MM, FLATTEST_MM = 1.0, 1e9
THICKEST_MM = 30.0
WIDEST_MM = 500.0


def _index(index: float) -> float:
    return require_range("refractive index", index, "", LOWEST_INDEX, HIGHEST_INDEX)


def true_from_marked(curve_d: float, index: float, marked_index: float = TOOLING_INDEX) -> float:
    """True surface power in D in this material of a curve stated for another index (1.530 tools, 1.523
    clocks).

    F = curve × (n − 1)/(n marked − 1).
    """
    curve = require_range("marked curve", curve_d, "D", -STEEPEST_D, STEEPEST_D)
    return curve * (_index(index) - 1.0) / (_index(marked_index) - 1.0)


def sag(curvature: float | FloatArray, distance_squared: float | FloatArray) -> FloatArray:
    """Exact sag in mm of a sphere at a squared distance (mm²) from its apex: r − √(r² − y²), written so that
    plano (curvature 0) needs no special case: c y²/(1 + √(1 − c² y²)). Arrays broadcast.

    Never gives NaN: raises OpticsError where the sphere does not reach that far.
    """
    return bare_sag(_curvature(curvature), _squared(distance_squared))


def toric_sag(
    flat: float | FloatArray,
    steep: float | FloatArray,
    along_flat_sq: float | FloatArray,
    along_steep_sq: float | FloatArray,
) -> FloatArray:
    """Exact sag in mm of a torus with curvatures `flat` and `steep` (1/mm) along its two principal meridians.

    A torus of tyre form: the circle of the steeper meridian is swept along the flatter one. `along_flat_sq`,
    `along_steep_sq`: squared coordinates (mm²) along these meridians. Equal curvatures give a sphere; a plano meridian
    gives a cylinder. Arrays broadcast. Raises OpticsError where the torus does not reach.

    With s the sag of the swept circle and a the flat curvature, (1/a − s)² = x² + (1/a − z)² gives
    z = (s (2 − a s) + a x²)/(1 + √((1 − a s)² − a² x²)), which holds for a = 0 too.
    """
    squares = np.broadcast_arrays(_squared(along_flat_sq), _squared(along_steep_sq))
    return bare_toric_sag(_curvature(flat), _curvature(steep), *squares)


def _curvature(values: float | FloatArray) -> FloatArray:
    return require_all("curvature of the surface", values, "1/mm", -1.0 / SHORTEST_MM, 1.0 / SHORTEST_MM)


def _squared(values: float | FloatArray) -> FloatArray:
    return require_all("distance from the apex, squared", values, "mm²", 0.0, 2.0 * WIDEST_MM**2, "place")


def forwarded(front_d: float, thickness_mm: float, index: float) -> float:
    """Vergence in D of light from a distant object at the back apex, after the front surface: F1/(1 − (t/n) F1).

    Raises OpticsError when the light comes to a focus within the lens.
    """
    thickness, power = _thickness(thickness_mm), _surface_power(front_d)
    left = 1.0 - thickness / 1000.0 / _index(index) * power
    if left <= 0.0:
        raise OpticsError("centre thickness", thickness, "mm", "so thin that light does not focus within the lens")
    return power / left


def _surface_power(power_d: float) -> float:
    return require_range("surface power", power_d, "D", -STEEPEST_D, STEEPEST_D)


def _thickness(value_mm: float) -> float:
    return require_range("centre thickness", value_mm, "mm", 0.0, THICKEST_MM)


@dataclass(frozen=True)
class ToricBack:
    """The back surface of a lens: surface powers (D) along and across the cylinder axis, and that axis.

    `along_d`, `across_d`: powers of the surface in the lens material in air, − for a back hollow towards the
    eye; `axis_deg`: on the viewer's chart, 0 < axis ≤ 180. For a prism the surface is turned about its apex: `slope`,
    mm of thickness per mm towards the base at `base_deg` on the same chart; `axis_deg` is then counted in the turned
    tangent plane, as if that were turned back upright.
    """

    along_d: float
    across_d: float
    axis_deg: float
    index: float
    flat_along: bool
    slope: float = 0.0
    base_deg: float = 0.0

    @property
    def curvatures(self) -> tuple[float, float]:
        """Curvatures (1/mm, + hollow towards the eye) along and across the axis."""
        per_d = -1.0 / (1000.0 * (self.index - 1.0))
        return self.along_d * per_d, self.across_d * per_d

    def sag_at(self, x_mm: float | FloatArray, y_mm: float | FloatArray) -> FloatArray:
        """Exact sag in mm at places from the apex on the viewer's chart (x right, y up); arrays broadcast."""
        x, y = (require_all("place on the lens", v, "mm", -WIDEST_MM, WIDEST_MM, "place") for v in (x_mm, y_mm))
        if self.slope:
            return self._turned_sag(x, y)
        turn = math.radians(self.axis_deg)
        along = np.square(x * math.cos(turn) + y * math.sin(turn))
        across = np.square(y * math.cos(turn) - x * math.sin(turn))
        on_axis, off_axis = self.curvatures
        if self.flat_along:
            return toric_sag(on_axis, off_axis, along, across)
        return toric_sag(off_axis, on_axis, across, along)

    def _turned_sag(self, x: FloatArray, y: FloatArray) -> FloatArray:
        base, flat = math.radians(self.base_deg), self._flat_direction - math.radians(self.base_deg)
        curves = np.array(self._flat_and_steep)
        backs = TurnedBacks(Turn.by_slope(np.array(self.slope)), curves[0], curves[1], np.cos(flat), np.sin(flat))
        cosine, sine = math.cos(base), math.sin(base)
        return backs.depth(x * cosine + y * sine, y * cosine - x * sine)

    @property
    def _flat_direction(self) -> float:
        """The direction of the flatter meridian on the chart, radians."""
        return math.radians(self.axis_deg + (0.0 if self.flat_along else 90.0))

    @property
    def _flat_and_steep(self) -> tuple[float, float]:
        along, across = self.curvatures
        return (along, across) if self.flat_along else (across, along)

    def frame(self) -> FloatArray:
        """Unit vectors along the flatter meridian, along the steeper one, and towards the eye along the normal at the
        apex, one a row; x and y are the chart's, z runs along the optical axis towards the eye.
        """
        base, flat = math.radians(self.base_deg), self._flat_direction - math.radians(self.base_deg)
        turned = math.atan(self.slope)
        towards = np.array([math.cos(base), math.sin(base), 0.0])
        aside = np.array([-math.sin(base), math.cos(base), 0.0])
        axis = np.array([0.0, 0.0, 1.0])
        first = math.cos(turned) * towards + math.sin(turned) * axis
        normal = math.cos(turned) * axis - math.sin(turned) * towards
        along = math.cos(flat) * first + math.sin(flat) * aside
        return np.array([along, math.cos(flat) * aside - math.sin(flat) * first, normal])

    def sag_and_slopes(self, along_flat_mm: float, along_steep_mm: float) -> tuple[float, float, float]:
        """Sag in mm at a place in the surface's own tangent plane, and how it grows along both meridians, mm per mm."""
        flat, steep = self._flat_and_steep
        found = torus(np.array(flat), np.array(steep), np.array(along_flat_mm), np.array(along_steep_mm))
        require_reach(found.swept_sq)
        require_reach(found.root_sq)
        return float(found.sag), float(found.in_flat), float(found.in_steep)


def toric_back(power: SphereCylinder, front_d: float, centre_thickness_mm: float, index: float) -> ToricBack:
    """The back that gives the exact back vertex power in each principal meridian behind a spherical front.

    front_d: true front surface power in D (see `true_from_marked`). Source: thick-lens step-along in each
    meridian.
    """
    before = forwarded(front_d, centre_thickness_mm, index)
    across = power.sphere + power.cylinder
    flat_along = abs(power.sphere - front_d) <= abs(across - front_d)
    return ToricBack(power.sphere - before, across - before, power.axis, index, flat_along)
