"""Edge thickness all round, and the centre thickness that a minimum centre and a minimum edge ask for.

Thicknesses in mm along the optical axis, on the shape itself without bevel, at each corner of the outline. Works on
`LensForms`, one row a lens. Both apices lie on the prism reference point; the back changes with the thickness, since
it must keep the back vertex power, so the thickness is solved for, not added up.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dispensing.optics.arrays import FloatArray
from dispensing.optics.errors import OpticsError
from dispensing.optics.lens_forms import LensForms
from dispensing.optics.surface import THICKEST_MM, sag, toric_sag

THICKNESS_TOLERANCE_MM = 1e-10
MOST_ROUNDS = 40


def edge_thickness(forms: LensForms, centre_thickness: FloatArray) -> FloatArray:
    """Thickness in mm at every corner, shape (lenses, corners), for centre thicknesses of shape (lenses, 1).

    Exact: t = centre + back sag + wedge − front sag. Negative where the surfaces meet before the edge. Raises
    OpticsError where a surface does not reach the edge.
    """
    flat_sq, steep_sq = forms.meridian_squares(forms.x, forms.y)
    return _with_back(forms, centre_thickness, flat_sq, steep_sq, _without_back(forms, flat_sq, steep_sq))


def _without_back(forms: LensForms, flat_sq: FloatArray, steep_sq: FloatArray) -> FloatArray:
    """Wedge less front sag: the part of the thickness that does not depend on the centre thickness."""
    rest = -sag(forms.front_curvature, flat_sq + steep_sq)
    if forms.slope_x.any() or forms.slope_y.any():
        rest += forms.slope_x * forms.x + forms.slope_y * forms.y
    return rest


def _with_back(
    forms: LensForms, centre: FloatArray, flat_sq: FloatArray, steep_sq: FloatArray, rest: FloatArray
) -> FloatArray:
    thickness = toric_sag(*forms.back_curvatures(centre), flat_sq, steep_sq)
    thickness += rest
    thickness += centre
    return thickness


def centre_for_minimum(
    forms: LensForms, minimum_centre: FloatArray, minimum_edge: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The smallest centre thickness that keeps the minimum centre, and the minimum edge at every corner (mm).

    minimum_centre, minimum_edge: shape (lenses, 1). Returns the centre thickness, shape (lenses, 1), converged to
    1e-10 mm, and the edge thickness that goes with it, shape (lenses, corners).

    Method: start from the minimum centre; where the thinnest corner is too thin, thicken until that corner is right;
    repeat if another is now the thinnest. The edge thickens with the centre, so the first centre at which none is too
    thin is the smallest. Raises OpticsError when a surface does not reach or the lens grows beyond 60 mm.
    """
    flat_sq, steep_sq = forms.meridian_squares(forms.x, forms.y)
    rest = _without_back(forms, flat_sq, steep_sq)
    centre = minimum_centre.copy()
    edge = _with_back(forms, centre, flat_sq, steep_sq, rest)
    thin = np.arange(forms.lenses)
    for _ in range(MOST_ROUNDS):
        corner = np.argmin(edge[thin], axis=1)
        least = edge[thin, corner]
        short = least < minimum_edge[thin, 0] - THICKNESS_TOLERANCE_MM
        thin, corner = thin[short], corner[short]
        if thin.size == 0:
            return centre, edge
        few, at = forms.chosen(thin), (thin, corner)
        held = tuple(part[at][:, None] for part in (flat_sq, steep_sq, rest))
        centre[thin] = _thickened(few, centre[thin], held, minimum_edge[thin])
        edge[thin] = _with_back(few, centre[thin], flat_sq[thin], steep_sq[thin], rest[thin])
    raise _too_thick(thin)


def _thickened(
    forms: LensForms, centre: FloatArray, held: tuple[FloatArray, ...], minimum_edge: FloatArray
) -> FloatArray:
    """The centre thickness at which one corner of each lens has exactly the minimum edge.

    What is missing is added to the centre until nothing is; each step leaves a tenth of the fault or less, because
    the back changes only slowly with the thickness.
    """
    for _ in range(4 * MOST_ROUNDS):
        missing = minimum_edge - _with_back(forms, centre, *held)
        centre = centre + missing
        if float(centre.max()) > THICKEST_MM:
            break
        if float(np.abs(missing).max()) < THICKNESS_TOLERANCE_MM / 10.0:
            return centre
    raise _too_thick(np.flatnonzero(centre[:, 0] > THICKEST_MM))


def _too_thick(rows: NDArray[np.intp]) -> OpticsError:
    which = f"{rows.size} of the lenses" if rows.size > 1 else "the lens"
    advice = "Use a smaller frame, a flatter front or a material of higher index."
    return OpticsError(f"centre thickness of {which}", "beyond reach", "", f"up to {THICKEST_MM:g} mm", advice)
