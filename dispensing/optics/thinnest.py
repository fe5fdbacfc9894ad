"""Where a lens with a prism is thinnest inside its outline, and the centre thickness that keeps it thick enough there.

Without a prism a lens is thinnest at its centre or at its edge. With one, a minus lens is thinnest where its two
surfaces run parallel, some way from the prism reference point towards the apex of the prism: for −4 D and 5 Δ about
12 mm away. All in mm; works on `EdgePlaces`, whose corners close the outline. This module must never know about shapes,
catalogues or orders.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dispensing.optics.arrays import FloatArray
from dispensing.optics.edge import MOST_ROUNDS, THICKNESS_TOLERANCE_MM, EdgePlaces, centre_for_minimum, too_thick
from dispensing.optics.lens_forms import LensForms
from dispensing.optics.surface import THICKEST_MM
from dispensing.optics.turned_back import LEAST_ROOT

BoolArray = NDArray[np.bool_]

STEP_MM = 0.01
CLOSE_ENOUGH_MM = 1e-7
"""The thickness is level where it is least, so that a place found to this gives it to 1e-14 mm."""

MOST_STEPS = 25


@dataclass(frozen=True, eq=False)
class ThinPlaces:
    """The least thickness of each lens inside its outline, where it has a local minimum there.

    `inside`: whether it has, shape (lenses,). The others, of shape (lenses, 1): where, in the lens's own directions,
    `thickness_mm` there, and `flat`, `steep`: the same place in the back's tangent plane, to start from again.
    """

    inside: BoolArray
    along: FloatArray
    across: FloatArray
    thickness_mm: FloatArray
    flat: FloatArray
    steep: FloatArray


def thin_places(corners: EdgePlaces, centre: FloatArray, start: ThinPlaces | None = None) -> ThinPlaces:
    """Where the surfaces of lenses with a prism run parallel, by Newton's method in the back's tangent plane.

    centre: mm, shape (lenses, 1). The surfaces and their slopes are explicit there; how the slopes change is taken
    from two neighbouring places.
    """
    forms = corners.forms
    backs = forms.turned_backs(centre)
    reach = np.hypot(corners.along, corners.across).max(axis=1, keepdims=True) + 1.0
    flat, steep = (np.zeros_like(centre), np.zeros_like(centre)) if start is None else (start.flat, start.steep)
    for _ in range(MOST_STEPS):
        found = backs.at(flat + NEIGHBOURS_MM[0], steep + NEIGHBOURS_MM[1])
        in_x, in_y = _gradient(forms, found.x, found.y, found.in_x, found.in_y)
        first, second = (_changes(values) for values in (in_x, in_y))
        twist = first[0] * second[1] - first[1] * second[0]
        safe = np.where(np.abs(twist) < 1e-30, np.inf, twist)
        step_flat = (first[1] * in_y[:, :1] - second[1] * in_x[:, :1]) / safe
        step_steep = (second[0] * in_x[:, :1] - first[0] * in_y[:, :1]) / safe
        nearer_flat, nearer_steep = _within(reach, flat + step_flat, steep + step_steep)
        # A lens whose place is found stays as it is, so that it does not matter which others it is worked with.
        far = np.maximum(np.abs(nearer_flat - flat), np.abs(nearer_steep - steep)) >= CLOSE_ENOUGH_MM
        if not far.any():
            break
        flat, steep = np.where(far, nearer_flat, flat), np.where(far, nearer_steep, steep)
    level = (np.maximum(np.abs(step_flat), np.abs(step_steep)) < CLOSE_ENOUGH_MM) & (np.abs(twist) >= 1e-30)
    x, y = _changes(found.x), _changes(found.y)
    # The surfaces part in every direction: the matrix of second derivatives has two positive roots.
    trace = first[0] * y[1] - first[1] * y[0] + second[1] * x[0] - second[0] * x[1]
    least = level & (twist > 0.0) & (trace > 0.0)
    place = backs.at(flat, steep)
    inside = least[:, 0] & _contains(corners, place.x, place.y)
    thickness = centre + place.depth - _front_sag(forms, place.x, place.y)
    return ThinPlaces(inside, place.x, place.y, thickness, flat, steep)


NEIGHBOURS_MM = np.array([[0.0, STEP_MM, 0.0], [0.0, 0.0, STEP_MM]])


def _changes(values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """How a figure at a place, and at its neighbours along both meridians, changes from it to them, per mm."""
    return (values[:, 1:2] - values[:, :1]) / STEP_MM, (values[:, 2:3] - values[:, :1]) / STEP_MM


def _within(reach: FloatArray, flat: FloatArray, steep: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The place, or where that lies beyond the farthest corner, a place just beyond it in the same direction."""
    shorter = np.minimum(1.0, reach / np.maximum(np.hypot(flat, steep), 1e-9))
    return flat * shorter, steep * shorter


def _gradient(
    forms: LensForms, x: FloatArray, y: FloatArray, in_x: FloatArray, in_y: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """How the thickness grows along x and y: the back's slopes less those of the front."""
    per_mm = forms.front_curvature / _front_root(forms, x, y)
    return in_x - per_mm * x, in_y - per_mm * y


def _front_root(forms: LensForms, x: FloatArray, y: FloatArray) -> FloatArray:
    curvature = forms.front_curvature
    return np.asarray(np.sqrt(np.maximum(1.0 - curvature * curvature * (x * x + y * y), LEAST_ROOT)))


def _front_sag(forms: LensForms, x: FloatArray, y: FloatArray) -> FloatArray:
    return np.asarray(forms.front_curvature * (x * x + y * y) / (1.0 + _front_root(forms, x, y)))


def _contains(corners: EdgePlaces, x: FloatArray, y: FloatArray) -> BoolArray:
    """Whether each place lies inside the outline of its lens: a line from it crosses the sides an odd number of times.

    x, y: shape (lenses, 1); the answer has shape (lenses,).
    """
    above = corners.across > y
    lens, side = np.nonzero(above != np.roll(above, -1, axis=1))
    following = (side + 1) % above.shape[1]
    from_x, to_x = (corners.along[lens, end] - x[lens, 0] for end in (side, following))
    from_y, to_y = (corners.across[lens, end] - y[lens, 0] for end in (side, following))
    right = (from_x * to_y - to_x * from_y > 0.0) == (to_y > from_y)
    odd: BoolArray = np.bincount(lens[right], minlength=len(above)) % 2 == 1
    return odd


def thick_enough_inside(corners: EdgePlaces, centre: FloatArray, minimum: FloatArray) -> tuple[FloatArray, ThinPlaces]:
    """The smallest centre thickness, not below `centre`, that leaves the minimum where it is thinnest inside.

    centre, minimum: mm, shape (lenses, 1); lenses with a prism only. Converged to 1e-9 mm. Raises OpticsError when the
    lens grows beyond 30 mm.
    """
    found = thin_places(corners, centre)
    once_short = found.inside[:, None] & (minimum - found.thickness_mm > THICKNESS_TOLERANCE_MM)
    for _ in range(MOST_ROUNDS):
        missing = np.where(once_short & found.inside[:, None], minimum - found.thickness_mm, 0.0)
        off = np.abs(missing) > THICKNESS_TOLERANCE_MM / 10.0
        if not off.any():
            return centre, found
        distance_sq = np.square(found.along) + np.square(found.across)
        growth = 1.0 + 0.5 * distance_sq * corners.forms.curvature_growth(centre)
        centre = centre + np.where(off, missing / growth, 0.0)
        if float(centre.max()) > THICKEST_MM:
            break
        found = thin_places(corners, centre, found)
    raise too_thick(int((centre > THICKEST_MM).sum()))


@dataclass(frozen=True, eq=False)
class CutLenses:
    """Lenses cut to their outlines: `centre_mm`, shape (lenses, 1), `edge_mm` at each corner, and inside of it.

    `inside` is where each lens may be thinnest within its outline: at its centre, or with a prism where the surfaces
    run parallel.
    """

    centre_mm: FloatArray
    edge_mm: FloatArray
    inside: ThinPlaces

    @property
    def thinnest_inside(self) -> BoolArray:
        """Whether each lens is thinner within its outline than at its edge."""
        thinner: BoolArray = self.inside.thickness_mm[:, 0] <= self.edge_mm.min(axis=1)
        return self.inside.inside & thinner

    @property
    def thinnest_mm(self) -> FloatArray:
        """The least thickness of each edged lens, mm."""
        thinnest: FloatArray = np.where(self.thinnest_inside, self.inside.thickness_mm[:, 0], self.edge_mm.min(axis=1))
        return thinnest


def cut_lenses(corners: EdgePlaces, minimum_centre: FloatArray, minimum_edge: FloatArray) -> CutLenses:
    """The thinnest lenses that keep the minimum centre at the reference point and wherever they are thinnest inside
    their outline, and the minimum edge at every corner; limits in mm, shape (lenses, 1).
    """
    centre, edge = centre_for_minimum(corners, minimum_centre, minimum_edge)
    return thickened_inside(corners, centre, edge, minimum_centre)


def thickened_inside(
    corners: EdgePlaces, centre: FloatArray, edge: FloatArray, minimum_centre: FloatArray
) -> CutLenses:
    """The same for lenses whose edges are thick enough: the edge can only grow with the centre."""
    if not corners.forms.has_wedge:
        return CutLenses(centre, edge, _at_the_centre(corners, centre))
    thicker, inside = thick_enough_inside(corners, centre, minimum_centre)
    return CutLenses(thicker, edge if thicker is centre else corners.thickness(thicker), inside)


def lenses_of_centre(corners: EdgePlaces, centre: FloatArray) -> CutLenses:
    """Lenses with centre thicknesses given in mm, shape (lenses, 1), whatever their edges come to."""
    inside = thin_places(corners, centre) if corners.forms.has_wedge else _at_the_centre(corners, centre)
    return CutLenses(centre, corners.thickness(centre), inside)


def _at_the_centre(corners: EdgePlaces, centre: FloatArray) -> ThinPlaces:
    nowhere = np.zeros_like(centre)
    return ThinPlaces(_contains(corners, nowhere, nowhere), nowhere, nowhere, centre, nowhere, nowhere)
