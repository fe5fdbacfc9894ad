"""Volume of edged lenses by integration over the shape.

The outline is cut into triangles from the prism reference point to each side. Over each triangle the thickness is
integrated from the point outwards (the slope of a prism exactly, front sphere in closed form, the rest of the back by a
three-point Gauss rule in the squared distance) along one line to a place on the side, or along two where the sides are
long. The result agrees with an independent integration to 3 parts in 100,000 (see tests). All in mm; works on
`LensForms`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.bare_sags import bare_toric_sag
from dispensing.optics.lens_forms import LensForms

FINE_OUTLINE = 360
"""From this many corners the sides are short enough (half a millimetre) for one line per triangle."""

ONE_LINE = ((0.5, 1.0),)
TWO_LINES = ((0.5 - 12.0**-0.5, 0.5), (0.5 + 12.0**-0.5, 0.5))
"""Places along a side and their weights: the middle; the two-point Gauss rule."""

GAUSS_PLACES = (0.5 - 0.15**0.5, 0.5, 0.5 + 0.15**0.5)
GAUSS_WEIGHTS = (5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0)


def volumes(forms: LensForms, along: FloatArray, across: FloatArray, centre_thickness: FloatArray) -> FloatArray:
    """Volume in mm³ of each lens within its outline, shape (lenses,).

    along, across: corners of the outlines, mm from the prism reference point in the lens's own directions, shape
    (lenses, corners); centre_thickness: mm, shape (lenses, 1). Where the surfaces cross within the outline the part
    with negative thickness counts as negative. Raises OpticsError where a surface does not reach.
    """
    next_along, next_across = _following(along), _following(across)
    area = along * next_across
    area -= across * next_along
    area *= 0.5
    mean_depth = _turned(forms, centre_thickness) if forms.has_wedge else _square(forms, centre_thickness)
    total: FloatArray = centre_thickness[:, 0] * area.sum(axis=1)
    for place, weight in ONE_LINE if along.shape[1] >= FINE_OUTLINE else TWO_LINES:
        on_side = (1.0 - place) * along + place * next_along, (1.0 - place) * across + place * next_across
        along_sq, across_sq = on_side[0] * on_side[0], on_side[1] * on_side[1]
        mean = mean_depth(*on_side, along_sq, across_sq)
        along_sq += across_sq
        mean -= _mean_front_sag(forms.front_curvature, along_sq)
        total += weight * np.einsum("ij,ij->i", area, mean)
    return total


MeanDepth = Callable[[FloatArray, FloatArray, FloatArray, FloatArray], FloatArray]
"""Mean depth of the back over thin triangles from the prism reference point to places on the sides, which are given
along the lens's own directions, and squared.
"""


def _square(forms: LensForms, centre_thickness: FloatArray) -> MeanDepth:
    """For backs square to the optical axis."""
    curvatures = forms.back_curvatures(centre_thickness)
    return lambda flat, steep, flat_sq, steep_sq: _mean_back_sag(*curvatures, flat_sq, steep_sq)


def _turned(forms: LensForms, centre_thickness: FloatArray) -> MeanDepth:
    """For turned backs. The mean of their slope is known, and the Gauss rule gives it only nearly."""
    backs = forms.turned_backs(centre_thickness)
    scales = [(place**0.5, weight * place**0.5) for place, weight in zip(GAUSS_PLACES, GAUSS_WEIGHTS, strict=True)]
    missing = 2.0 / 3.0 - sum(weight for _, weight in scales)

    def mean(along: FloatArray, across: FloatArray, along_sq: FloatArray, across_sq: FloatArray) -> FloatArray:
        depths = (weight * backs.shrunk(scale).depth(along, across) for scale, weight in scales)
        total: FloatArray = sum(depths, missing * forms.slope * along)
        return total

    return mean


def _following(values: FloatArray) -> FloatArray:
    """For each corner, the next one round the outline."""
    return np.concatenate([values[:, 1:], values[:, :1]], axis=1)


def _mean_back_sag(flat: FloatArray, steep: FloatArray, flat_sq: FloatArray, steep_sq: FloatArray) -> FloatArray:
    """Mean sag of the torus over a thin triangle from its apex to the place given (area grows with distance²)."""
    mean = np.zeros_like(flat_sq)
    for place, weight in zip(GAUSS_PLACES, GAUSS_WEIGHTS, strict=True):
        # A torus shrunk by λ has curvatures λ times as great: z(c; λ p) = λ z(λ c; p). Scaling the few curvatures
        # spares scaling the many squares.
        scale = place**0.5
        depth = bare_toric_sag(flat * scale, steep * scale, flat_sq, steep_sq)
        depth *= weight * scale
        mean += depth
    return mean


def _mean_front_sag(curvature: FloatArray, distance_sq: FloatArray) -> FloatArray:
    """Mean sag of the sphere over such a triangle, closed form: c y² (1 + 2w)/(3 (1 + w)²), w = √(1 − c² y²)."""
    root = np.asarray(curvature * curvature * distance_sq)
    np.subtract(1.0, root, out=root)
    np.sqrt(root, out=root)
    mean = 2.0 * root
    mean += 1.0
    mean *= curvature / 3.0 * distance_sq
    root += 1.0
    root *= root
    mean /= root
    return mean
