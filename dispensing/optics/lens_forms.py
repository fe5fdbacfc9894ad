"""Many lenses side by side: the outline, surfaces and prism of each, everything except the thickness.

One row per lens, one column per corner of its outline; a single lens is a batch of one. Places are mm on the viewer's
chart (x right, y up) from the lens's prism reference point, on which both apices lie; for the arithmetic they are laid
along two directions of the lens's own: the back's flatter and steeper meridian, or where any of the lenses has a prism,
along and across its base. Lens bodies, edges and volumes are worked out from this; it must never know about shapes,
catalogues or orders.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from dispensing.optics.arrays import FloatArray, require_all
from dispensing.optics.boxing import LensShape
from dispensing.optics.conventions import TOOLING_INDEX
from dispensing.optics.errors import OpticsError
from dispensing.optics.prism import PRISM_LIMIT_PD
from dispensing.optics.surface import HIGHEST_INDEX, LOWEST_INDEX
from dispensing.optics.turned_back import Turn, TurnedBacks, WantedPower, turned_backs

STEEPEST_BASE_D = 25.0  # a radius of 21 mm: hardly a hemisphere for the smallest lens

STRONGEST_PD = 30.0

BoolArray = NDArray[np.bool_]


def one_a_lens(values: FloatArray, lenses: int) -> FloatArray:
    """One value, or one per lens, as an array of shape (lenses, 1); OpticsError for any other number of values."""
    if values.size not in (1, lenses):
        raise OpticsError("number of values", values.size, "", f"one, or {lenses}: one a lens")
    return np.broadcast_to(values.reshape(-1, 1), (lenses, 1))


@dataclass(frozen=True, eq=False)
class LensForms:
    """Surfaces and prism of each lens, arrays of shape (lenses, 1).

    `sphere`, `cylinder` D, `axis_deg` (viewer's chart); `index`; `front_curvature` 1/mm; `slope_x`, `slope_y`: slope at
    the reference point by which the back is turned for the prescribed prism, mm of thickness per mm.
    """

    sphere: FloatArray
    cylinder: FloatArray
    axis_deg: FloatArray
    index: FloatArray
    front_curvature: FloatArray
    slope_x: FloatArray
    slope_y: FloatArray

    def chosen(self, which: NDArray[np.intp] | slice) -> LensForms:
        """The same for some of the lenses only."""
        return LensForms(*(getattr(self, f.name)[which] for f in fields(self)))

    @cached_property
    def has_wedge(self) -> bool:
        """Whether any of the lenses has a prescribed prism."""
        return bool(self.slope_x.any() or self.slope_y.any())

    @cached_property
    def front_d(self) -> FloatArray:
        """True front surface power, D."""
        return 1000.0 * (self.index - 1.0) * self.front_curvature

    @cached_property
    def flat_along(self) -> BoolArray:
        """Whether the back's flatter meridian lies along the cylinder axis (judged by the nominal curves)."""
        along = self.sphere - self.front_d
        return np.asarray(np.abs(along) <= np.abs(along + self.cylinder))

    @cached_property
    def flat_direction(self) -> tuple[FloatArray, FloatArray]:
        """Unit vector along the back's flatter meridian."""
        turn = np.radians(self.axis_deg) + np.where(self.flat_along, 0.0, np.pi / 2.0)
        return np.cos(turn), np.sin(turn)

    @cached_property
    def slope(self) -> FloatArray:
        """The slope towards the base of the prism, mm of thickness per mm."""
        return np.hypot(self.slope_x, self.slope_y)

    @cached_property
    def _base_direction(self) -> tuple[FloatArray, FloatArray]:
        """Unit vector towards the base; along x where there is no prism."""
        without = self.slope == 0.0
        length = np.where(without, 1.0, self.slope)
        return np.where(without, 1.0, self.slope_x / length), np.where(without, 0.0, self.slope_y / length)

    def in_own_directions(self, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Places on the viewer's chart (mm) along the lens's first direction and across it (see the module)."""
        cosine, sine = self._base_direction if self.has_wedge else self.flat_direction
        along, across = x * cosine, y * cosine
        along += y * sine
        across -= x * sine
        return along, across

    def on_chart(self, along: FloatArray, across: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The inverse of `in_own_directions`."""
        cosine, sine = self._base_direction if self.has_wedge else self.flat_direction
        return along * cosine - across * sine, along * sine + across * cosine

    @cached_property
    def base_angle(self) -> FloatArray:
        """Where the base of the prism lies on the viewer's chart, radians."""
        cosine, sine = self._base_direction
        return np.asarray(np.arctan2(sine, cosine))

    @cached_property
    def _turn(self) -> Turn:
        return Turn.by_slope(self.slope)

    @cached_property
    def _from_base(self) -> WantedPower:
        return WantedPower.of(self.sphere, self.cylinder, np.radians(self.axis_deg) - self.base_angle)

    @cached_property
    def _back_vertex_powers(self) -> tuple[FloatArray, FloatArray]:
        """Wanted back vertex powers, D, along the back's flatter and steeper meridian."""
        across = self.sphere + self.cylinder
        return np.where(self.flat_along, self.sphere, across), np.where(self.flat_along, across, self.sphere)

    @cached_property
    def _per_d(self) -> FloatArray:
        """Curvature (1/mm) of one dioptre of surface power."""
        return 1.0 / (1000.0 * (self.index - 1.0))

    @cached_property
    def _reduced(self) -> FloatArray:
        """Share of the vergence that one mm of thickness adds: front power over 1000 n."""
        return self.front_d / (1000.0 * self.index)

    def _before(self, centre_thickness: FloatArray) -> FloatArray:
        """Vergence in D that reaches the back apex: F1/(1 − (t/n) F1)."""
        return np.asarray(self.front_d / (1.0 - centre_thickness * self._reduced))

    def back_curvatures(self, centre_thickness: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Curvatures (1/mm) of the back's flatter and steeper meridian that give the exact back vertex powers, where no
        lens has a prism.

        centre_thickness: mm, shape (lenses, 1). Thick-lens step-along in each meridian: F2 = F'v − F1/(1 − (t/n) F1).
        """
        before = self._before(centre_thickness)
        flat, steep = self._back_vertex_powers
        return (before - flat) * self._per_d, (before - steep) * self._per_d

    def turned_backs(self, centre_thickness: FloatArray) -> TurnedBacks:
        """The backs that give the exact power and prism along the optical axis, turned about their apices."""
        before = self._before(centre_thickness)
        return turned_backs(self._from_base, before, self.front_d, self.index, self._turn)

    def curvature_growth(self, centre_thickness: FloatArray) -> FloatArray:
        """How much the back's curvatures (1/mm) grow for each mm of centre thickness."""
        before = self._before(centre_thickness)
        return before * before / (1000.0 * self.index) * self._per_d


def wedge_slope(prism: ArrayLike, index: ArrayLike) -> FloatArray:
    """Slope (mm of thickness per mm towards the base) that gives a prism in Δ at the reference point; exact.

    A ray along the optical axis meets the front apex squarely and the back at the angle α of the slope, so
    n sin α = sin(α + d) with tan d = P/100, hence tan α = sin d/(n − cos d).
    """
    deviation = np.arctan(require_all("prism", prism, "Δ", -PRISM_LIMIT_PD, PRISM_LIMIT_PD) / 100.0)
    n = require_all("refractive index", index, "", LOWEST_INDEX, HIGHEST_INDEX)
    slope: FloatArray = np.sin(deviation) / (n - np.cos(deviation))
    return slope


def lens_forms(
    lenses: int,
    *,
    sphere: ArrayLike,
    cylinder: ArrayLike,
    axis_deg: ArrayLike,
    index: ArrayLike,
    front_curve_d: ArrayLike,
    prism_x: ArrayLike = 0.0,
    prism_y: ArrayLike = 0.0,
) -> LensForms:
    """Checked forms of so many lenses; every argument is one number, or one per lens.

    sphere, cylinder: D, axis_deg 0 to 180 on the viewer's chart. front_curve_d: 1.530 tooling curve. prism_x, prism_y:
    prescribed prism in Δ by its base on the viewer's chart. Raises OpticsError naming the first lens whose value is
    missing or out of range.
    """

    def column(quantity: str, values: ArrayLike, unit: str, low: float, high: float) -> FloatArray:
        return one_a_lens(require_all(quantity, values, unit, low, high), lenses)

    n = column("refractive index", index, "", LOWEST_INDEX, HIGHEST_INDEX)
    base_x, base_y = (column("prism", base, "Δ", -STRONGEST_PD, STRONGEST_PD) for base in (prism_x, prism_y))
    amount = np.hypot(base_x, base_y)
    slope_a_prism = wedge_slope(amount, n) / np.where(amount > 0.0, amount, 1.0)
    return LensForms(
        column("sphere", sphere, "D", -60.0, 60.0),
        column("cylinder", cylinder, "D", -30.0, 30.0),
        column("axis", axis_deg, "deg", 0.0, 180.0),
        n,
        column("base curve", front_curve_d, "D", -STEEPEST_BASE_D, STEEPEST_BASE_D) / (1000.0 * (TOOLING_INDEX - 1.0)),
        slope_a_prism * base_x,
        slope_a_prism * base_y,
    )


def corners_from(
    shapes: Sequence[LensShape], reference_x: FloatArray, reference_y: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Corners from each lens's reference point, x and y on the viewer's chart, shape (lenses, corners).

    reference_x, reference_y: mm from the boxed centre on the same chart, one number or shape (lenses, 1).
    """
    x = np.array([shape.viewer_x for shape in shapes]) - reference_x
    y = np.array([shape.viewer_y for shape in shapes]) - reference_y
    return x, y


def minimum_limits(lenses: int, min_centre_mm: ArrayLike, min_edge_mm: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Minimum centre and minimum edge, mm, one row per lens."""
    centre = require_all("minimum centre thickness", min_centre_mm, "mm", 0.1, 20.0)
    edge = require_all("minimum edge thickness", min_edge_mm, "mm", 0.0, 20.0)
    return one_a_lens(centre, lenses), one_a_lens(edge, lenses)
