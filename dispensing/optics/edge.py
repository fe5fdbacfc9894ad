"""Edge thickness all round, and the centre thickness that a minimum centre and a minimum edge ask for.

Thicknesses in mm along the optical axis, on the shape itself without bevel, at each corner of the outline. Works on
`LensForms`, one row per lens. Both apices lie on the prism reference point; the back changes with the thickness, since
it must keep the back vertex power, so the thickness has to be solved for and cannot simply be added up.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from dispensing.optics.arrays import FloatArray
from dispensing.optics.bare_sags import bare_sag, bare_toric_sag
from dispensing.optics.errors import OpticsError
from dispensing.optics.lens_forms import LensForms
from dispensing.optics.surface import THICKEST_MM

THICKNESS_TOLERANCE_MM = 1e-9
CORNER_TOLERANCE_MM = THICKNESS_TOLERANCE_MM / 10.0
STEP_TOO_SMALL_MM = 1e-12
MOST_ROUNDS = 60


@dataclass(frozen=True, eq=False)
class EdgePlaces:
    """Places where the thickness of each lens is wanted, with all that stays the same while the centre is found.

    `along`, `across`: mm from the prism reference point in the lens's own directions (see `lens_forms`), shape
    (lenses, places).
    """

    forms: LensForms
    along: FloatArray
    across: FloatArray

    @cached_property
    def _squares(self) -> tuple[FloatArray, FloatArray]:
        return self.along * self.along, self.across * self.across

    @cached_property
    def _front(self) -> FloatArray:
        """The sag of the front, which does not depend on the centre thickness."""
        along_sq, across_sq = self._squares
        return bare_sag(self.forms.front_curvature, along_sq + across_sq)

    def thickness(self, centre: FloatArray) -> FloatArray:
        """Thickness in mm at the places, shape (lenses, places), for centre thicknesses of shape (lenses, 1).

        Exact: t = centre + depth of the back − front sag. Negative where the surfaces meet before the place. Raises
        OpticsError where a surface does not reach.
        """
        if self.forms.has_wedge:
            thickness = self.forms.turned_backs(centre).depth(self.along, self.across)
        else:
            thickness = bare_toric_sag(*self.forms.back_curvatures(centre), *self._squares)
        thickness -= self._front
        thickness += centre
        return thickness

    def of_lenses(self, rows: NDArray[np.intp]) -> EdgePlaces:
        """The same places for some of the lenses only."""
        return EdgePlaces(self.forms.chosen(rows), self.along[rows], self.across[rows])

    def one_each(self, places: NDArray[np.intp]) -> EdgePlaces:
        """One place per lens."""
        at = np.arange(len(places)), places
        return EdgePlaces(self.forms, self.along[at][:, None], self.across[at][:, None])


def centre_for_minimum(
    corners: EdgePlaces, minimum_centre: FloatArray, minimum_edge: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The smallest centre thickness that keeps the minimum centre, and the minimum edge at every corner (mm).

    minimum_centre, minimum_edge: shape (lenses, 1). Returns the centre thickness, shape (lenses, 1), converged to
    1e-9 mm, and the edge thickness that goes with it, shape (lenses, corners).

    Method: start from the minimum centre; where the thinnest corner is too thin, thicken until that corner is right;
    repeat if another is now the thinnest. The edge thickens with the centre, so the first centre at which no corner is
    too thin is the smallest. Raises OpticsError when a surface does not reach or the lens grows beyond 30 mm.
    """
    centre = minimum_centre.copy()
    edge = corners.thickness(centre)
    thin = np.arange(len(centre))
    some, some_edge = corners, edge
    for _ in range(MOST_ROUNDS):
        short, thinnest, least = thinner_than(some_edge, minimum_edge[thin])
        if short.size == 0:
            return centre, edge
        thin, some = thin[short], some.of_lenses(short)
        centre[thin] = thickened(some.one_each(thinnest), centre[thin], least, minimum_edge[thin])
        some_edge = some.thickness(centre[thin])
        edge[thin] = some_edge
    raise too_thick(len(thin))


def thinner_than(edge: FloatArray, minimum_edge: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.intp], FloatArray]:
    """Which lenses have a corner below the minimum edge; for each, the thinnest corner and its thickness (rows, 1)."""
    thinnest = np.argmin(edge, axis=1)
    least = np.take_along_axis(edge, thinnest[:, None], axis=1)
    short = np.flatnonzero(least < minimum_edge - THICKNESS_TOLERANCE_MM)
    return short, thinnest[short], least[short]


def thickened(corner: EdgePlaces, centre: FloatArray, least: FloatArray, wanted: FloatArray) -> FloatArray:
    """The centre thickness at which one corner of each lens has the `wanted` edge, given its edge now (`least`), mm.

    Newton's method: the edge grows with the centre, and a little more because the back then has to be steeper; the
    growth is first taken from the back's nominal sag, then corrected by what each step really brought (secant).
    """
    distance_sq = corner.along * corner.along + corner.across * corner.across
    missing = wanted - least
    growth = 1.0 + 0.5 * distance_sq * corner.forms.curvature_growth(centre)
    for _ in range(MOST_ROUNDS):
        # A lens that is right stays as it is, so that it does not matter which others it is worked with.
        step = np.where(np.abs(missing) < CORNER_TOLERANCE_MM, 0.0, missing / growth)
        centre = centre + step
        if float(centre.max()) > THICKEST_MM:
            break
        left = wanted - corner.thickness(centre)
        if float(np.abs(left).max()) < CORNER_TOLERANCE_MM:
            return centre
        moved = np.abs(step) > STEP_TOO_SMALL_MM
        seen = (missing - left) / np.where(moved, step, 1.0)
        growth, missing = np.where(moved & (seen > 0.1), seen, growth), left
    raise too_thick(int((centre > THICKEST_MM).sum()))


def too_thick(count: int) -> OpticsError:
    which = "the lens" if count <= 1 else f"{count} of the lenses"
    advice = "Use a smaller frame, a flatter front or a material of higher index."
    return OpticsError(f"centre thickness of {which}", "beyond reach", "", f"up to {THICKEST_MM:g} mm", advice)
