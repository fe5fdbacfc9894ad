"""Refracting surfaces: power and radius, exact sag, tooling curves, thick-lens vertex powers, the toric back.

Units and signs: powers in D, radii and sags in mm, curvatures in 1/mm. A curvature is + when the centre of
curvature lies on the eye's side, so the front of a meniscus and its back both have + curvature; sag is
measured from the apex along the optical axis towards the eye. All functions take arrays as well as single
numbers where it says so. This module must never know about shapes, frames or orders.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.conventions import TOOLING_INDEX
from dispensing.optics.errors import OpticsError, require_range
from dispensing.optics.power import SphereCylinder

FLATTEST_D = 1e-9  # a curve weaker than this is plano and has no radius
LOWEST_INDEX, HIGHEST_INDEX = 1.3, 2.5
STEEPEST_D = 60.0
THICKEST_MM = 30.0


def _index(index: float) -> float:
    return require_range("refractive index", index, "", LOWEST_INDEX, HIGHEST_INDEX)


def radius_from_power(power_d: float, index: float) -> float:
    """Radius in mm of a surface of this power in D: r = 1000 (n − 1)/F, sign as the power. Plano raises
    OpticsError.
    """
    if abs(require_range("surface power", power_d, "D", -STEEPEST_D, STEEPEST_D)) < FLATTEST_D:
        raise OpticsError("surface power", power_d, "D", "any but plano, which has no radius")
    return 1000.0 * (_index(index) - 1.0) / power_d


def power_from_radius(radius_mm: float, index: float) -> float:
    """Power in D of a surface of this radius in mm: F = 1000 (n − 1)/r, sign as the radius."""
    if radius_mm == 0.0:
        raise OpticsError("radius of the surface", radius_mm, "mm", "any but 0")
    radius = require_range("radius of the surface", radius_mm, "mm", -1e9, 1e9)
    return 1000.0 * (_index(index) - 1.0) / radius


def true_from_marked(curve_d: float, index: float, marked_index: float = TOOLING_INDEX) -> float:
    """True surface power in D in this material of a curve stated for another index (1.530 tools, 1.523
    clocks).

    F = curve × (n − 1)/(n marked − 1).
    """
    curve = require_range("marked curve", curve_d, "D", -STEEPEST_D, STEEPEST_D)
    return curve * (_index(index) - 1.0) / (_index(marked_index) - 1.0)


def marked_from_true(power_d: float, index: float, marked_index: float = TOOLING_INDEX) -> float:
    """The curve in D that a tool or clock of `marked_index` states for a true surface power in this material."""
    return true_from_marked(power_d, marked_index, index)


def radius_of_tooling_curve(curve_d: float) -> float:
    """Radius in mm of a 1.530 tooling curve in D: 530 / curve. Plano raises OpticsError."""
    return radius_from_power(curve_d, TOOLING_INDEX)


def curve_variation_factor(index: float, reference_index: float = 1.523) -> float:
    """(n reference − 1)/(n − 1): how much flatter than in crown glass the curves may be for the same power
    (Jalie).
    """
    return (_index(reference_index) - 1.0) / (_index(index) - 1.0)


def curvature_of_tooling_curve(curve_d: float) -> float:
    """Curvature in 1/mm of a 1.530 tooling curve in D; 0 for plano."""
    return require_range("base curve", curve_d, "D", -STEEPEST_D, STEEPEST_D) / (1000.0 * (TOOLING_INDEX - 1.0))


def sag(curvature: float | FloatArray, distance_squared: float | FloatArray) -> FloatArray:
    """Exact sag in mm of a sphere at a squared distance (mm²) from its apex: r − √(r² − y²), written so that
    plano (curvature 0) needs no special case: c y²/(1 + √(1 − c² y²)). Arrays broadcast.

    NaN-free: raises OpticsError where the sphere does not reach so far.
    """
    under_root = 1.0 - np.square(curvature) * distance_squared
    _require_reach(under_root)
    result: FloatArray = curvature * np.asarray(distance_squared) / (1.0 + np.sqrt(under_root))
    return result


def sag_exact(radius_mm: float, semi_aperture_mm: float) -> float:
    """Exact sag in mm of a radius at a distance from the apex: r − √(r² − y²) (sign as the radius)."""
    return float(sag(1.0 / radius_mm, semi_aperture_mm**2))


def sag_approximate(power_d: float, index: float, semi_aperture_mm: float) -> float:
    """Exam form of the sag in mm: y² F/(2000 (n − 1)); short for steep curves (9 % at 10 D and 60 mm)."""
    return semi_aperture_mm**2 * power_d / (2000.0 * (_index(index) - 1.0))


def toric_sag(
    flat: float | FloatArray, steep: float | FloatArray, along_flat_sq: FloatArray, along_steep_sq: FloatArray
) -> FloatArray:
    """Exact sag in mm of a torus with curvatures `flat` and `steep` (1/mm) along its two principal meridians.

    A torus of tyre form: the circle of the steeper meridian is swept along the flatter one. `along_flat_sq`,
    `along_steep_sq`: squared coordinates (mm²) along these meridians. Equal curvatures give the sphere; a plano
    meridian a cylinder. Arrays broadcast. Raises OpticsError where the torus does not reach.

    With s the sag of the swept circle and a the flat curvature, (1/a − s)² = x² + (1/a − z)² gives
    z = (s (2 − a s) + a x²)/(1 + √((1 − a s)² − a² x²)), which holds for a = 0 too. Worked in place: this is
    where the time of a lens body goes.
    """
    depth = np.asarray(steep * along_steep_sq)
    root = np.asarray(steep * depth)
    np.subtract(1.0, root, out=root)
    _require_reach(root)
    np.sqrt(root, out=root)
    root += 1.0
    depth /= root
    rest = np.asarray(flat * depth)
    np.subtract(1.0, rest, out=rest)
    lift = np.asarray(flat * along_flat_sq)
    np.multiply(rest, rest, out=root)
    root -= flat * lift
    _require_reach(root)
    np.sqrt(root, out=root)
    root += 1.0
    rest += 1.0
    depth *= rest
    depth += lift
    depth /= root
    return depth


def _require_reach(under_root: float | FloatArray) -> None:
    """A surface ends where its own circle does: there is no sag beyond."""
    least = float(np.asarray(under_root).min())
    if not least > 0.0:
        advice = "Use a flatter curve, a smaller frame or a material of higher index."
        allowed = "less than the radius of the surface"
        raise OpticsError("distance of the edge from the centre of the lens", "too great", "", allowed, advice)


def back_vertex_power(front_d: float, back_d: float, thickness_mm: float, index: float) -> float:
    """Exact back vertex power in D: F1/(1 − (t/n) F1) + F2, t in mm here and in metres in the formula."""
    return forwarded(front_d, thickness_mm, index) + back_d


def front_vertex_power(front_d: float, back_d: float, thickness_mm: float, index: float) -> float:
    """Exact front vertex power in D: F1 + F2/(1 − (t/n) F2)."""
    return front_d + forwarded(back_d, thickness_mm, index)


def back_surface_power(back_vertex_d: float, front_d: float, thickness_mm: float, index: float) -> float:
    """The back surface power in D that gives a back vertex power: F2 = F'v − F1/(1 − (t/n) F1)."""
    return back_vertex_d - forwarded(front_d, thickness_mm, index)


def back_vertex_power_approximate(front_d: float, back_d: float, thickness_mm: float, index: float) -> float:
    """Exam form of the back vertex power in D: F1 + F2 + (t/n) F1², t in metres."""
    return front_d + back_d + thickness_mm / 1000.0 / _index(index) * front_d**2


def forwarded(front_d: float, thickness_mm: float, index: float) -> float:
    """Vergence in D that a distant object has at the back apex after the front surface: F1/(1 − (t/n) F1).

    Raises OpticsError when the light comes to a focus within the lens.
    """
    thickness = require_range("centre thickness", thickness_mm, "mm", 0.0, THICKEST_MM)
    power = require_range("surface power", front_d, "D", -STEEPEST_D, STEEPEST_D)
    left = 1.0 - thickness / 1000.0 / _index(index) * power
    if left <= 0.0:
        raise OpticsError("centre thickness", thickness, "mm", "so thin that light does not focus within the lens")
    return power / left


@dataclass(frozen=True)
class ToricBack:
    """The back surface of a lens: surface powers (D) along and across the cylinder axis, and that axis.

    `along_d`, `across_d`: powers of the surface in the lens material in air, − for a back hollow towards the
    eye; `axis_deg`: on the viewer's chart, 0 < axis ≤ 180.
    """

    along_d: float
    across_d: float
    axis_deg: float
    index: float
    flat_along: bool

    @property
    def curvatures(self) -> tuple[float, float]:
        """Curvatures (1/mm, + hollow towards the eye) along and across the axis."""
        per_d = -1.0 / (1000.0 * (self.index - 1.0))
        return self.along_d * per_d, self.across_d * per_d

    @property
    def tooling_curves_d(self) -> tuple[float, float]:
        """The 1.530 tooling curves in D along and across the axis, sign as the surface powers."""
        return marked_from_true(self.along_d, self.index), marked_from_true(self.across_d, self.index)

    def sag_at(self, x_mm: float | FloatArray, y_mm: float | FloatArray) -> FloatArray:
        """Exact sag in mm at places from the apex on the viewer's chart (x right, y up); arrays broadcast."""
        turn = math.radians(self.axis_deg)
        along = np.square(np.multiply(x_mm, math.cos(turn)) + np.multiply(y_mm, math.sin(turn)))
        across = np.square(np.multiply(y_mm, math.cos(turn)) - np.multiply(x_mm, math.sin(turn)))
        on_axis, off_axis = self.curvatures
        if self.flat_along:
            return toric_sag(on_axis, off_axis, along, across)
        return toric_sag(off_axis, on_axis, across, along)


def toric_back(power: SphereCylinder, front_d: float, centre_thickness_mm: float, index: float) -> ToricBack:
    """The back that gives the exact back vertex power in each principal meridian behind a spherical front.

    front_d: true front surface power in D (see `true_from_marked`). Source: thick-lens step-along in each
    meridian.
    """
    before = forwarded(front_d, centre_thickness_mm, index)
    across = power.sphere + power.cylinder
    flat_along = abs(power.sphere - front_d) <= abs(across - front_d)
    return ToricBack(power.sphere - before, across - before, power.axis, index, flat_along)


def tool_curves_for(power: SphereCylinder, base_d: float) -> tuple[float, float, float]:
    """Nominal (thin lens) toric form on a given base curve: sphere curve, base curve, cross curve, all in D.

    base_d: surface power of the base meridian, − for a toric back. The base curve is the weaker of the toric
    surface's curves, the cross curve adds the cylinder with the sign of the base. Source: toric transposition
    (Jalie).
    """
    same_sign = power.in_minus_cylinder() if base_d < 0.0 else power.in_plus_cylinder()
    return same_sign.sphere - base_d, base_d, base_d + same_sign.cylinder
