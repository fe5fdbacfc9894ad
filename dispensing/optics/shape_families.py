"""Believable lens shapes built from A, B, ED and a family name, for when no trace exists.

An assumed shape has exactly the A and B asked for, and the ED to within 0.01 mm. The default family is the superellipse
|2x/A|^p + |2y/B|^p = 1, the one smooth shape between an ellipse and a rectangle that favours no quarter: its longest
radius occurs in all four, so a blank or an edge computed from it errs on the safe side. The other families carry a
typical outline (nasal cut, swept brow …) whose corners are filled out or drawn in to reach the ED. No shape here claims
to be that of a particular frame.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import hypot, inf

import numpy as np

from dispensing.optics import outline
from dispensing.optics.arrays import FloatArray
from dispensing.optics.boxing import FEWEST_RADII, MOST_RADII, LensShape
from dispensing.optics.conventions import Eye
from dispensing.optics.errors import OpticsError, require_range

DEFAULT_COUNT = 400
FINE = 2400  # corners of the outline before it is read at the wanted angles
ED_TOLERANCE_MM = 0.01
SHARP_TOLERANCE_MM = 0.05
DEFAULT_FAMILY = "superellipse"

# Fullness g bends an outline in its unit box by |x| → |x|^g, |y| → |y|^g: below 1 the corners fill out
# towards the rectangle, above 1 they are drawn in. An ellipse bent by g is the superellipse of exponent 2/g.
FULLEST, NEUTRAL, LEANEST = 0.0001, 1.0, 2.0
MOST_HALVINGS = 24

FINER = (1, 4, 16)  # multiples of the radii asked for, tried in turn when a corner is almost as sharp as the box's

# Typical outlines of a right lens. Smooth ones: angle from the nasal side towards the brow in degrees, and radius in
# the box stretched to ±1. Cornered ones: the share of each side that a corner takes, and the corners (x nasal, y up).
ANCHORS: dict[str, tuple[tuple[float, float], ...]] = {
    "panto": ((0, 1.00), (45, 1.11), (90, 1.00), (135, 1.13), (180, 1.00), (225, 1.01), (270, 1.00), (315, 0.97)),
    "pilot": ((0, 0.94), (40, 1.20), (90, 1.00), (135, 1.20), (180, 1.00), (230, 1.16), (270, 1.00), (320, 0.88)),
    "wrap": ((0, 1.00), (45, 1.17), (90, 1.00), (140, 1.14), (180, 1.00), (220, 0.99), (270, 1.00), (315, 1.08)),
}
CORNERS: dict[str, tuple[float, tuple[tuple[float, float], ...]]] = {
    "rectangle": (0.28, ((0.98, 1.00), (-1.00, 1.00), (-0.95, -1.00), (0.88, -1.00))),
    "geometric": (0.22, ((1.00, 0.10), (0.55, 1.00), (-0.55, 1.00), (-1.00, 0.10), (-0.58, -1.00), (0.50, -1.00))),
    "cat_eye": (
        0.49,
        (
            (1.00, 0.15),
            (0.85, 0.78),
            (0.00, 0.92),
            (-0.92, 1.05),
            (-1.00, 0.15),
            (-0.65, -0.95),
            (0.50, -1.00),
            (0.92, -0.60),
        ),
    ),
}

FAMILIES = ("superellipse", "round", "oval", *ANCHORS, *CORNERS)
"""Names that `assumed_shape` accepts."""

TYPICAL_FULLNESS = {"superellipse": 2.0 / 2.6, "oval": 2.0 / 2.2}


@lru_cache(maxsize=256)
def assumed_shape(
    a_mm: float,
    b_mm: float,
    ed_mm: float | None = None,
    family: str = DEFAULT_FAMILY,
    *,
    side: Eye = "right",
    count: int = DEFAULT_COUNT,
) -> LensShape:
    """A shape of the family with exactly this A and B and, if one is given, this ED (to 0.01 mm); mm.

    Without an ED the family's typical fullness is taken. An ED within about 0.2 mm of the box's diagonal means a corner
    too sharp for `count` angles: the shape then has 4 or 16 times as many radii, and an ED right to 0.05 mm. Raises
    OpticsError for an unknown family, for A or B outside 10 to 100 mm, and for an ED the box cannot have (below the
    longer of A and B, above the box's diagonal) or the family cannot reach.
    """
    count = int(require_range("number of radii", count, "", FEWEST_RADII, MOST_RADII))
    require_range("A", a_mm, "mm", 10.0, 100.0)
    require_range("B", b_mm, "mm", 10.0, 100.0)
    if family not in FAMILIES:
        raise OpticsError("shape family", family, "", ", ".join(FAMILIES))
    if ed_mm is None:
        radii = _fullness_to_radii(family, a_mm, b_mm, count)(TYPICAL_FULLNESS.get(family, NEUTRAL))
    else:
        require_range("ED", ed_mm, "mm", max(a_mm, b_mm), hypot(a_mm, b_mm))
        radii = _radii_with_ed(a_mm, b_mm, ed_mm, count, family)
    nasal_right = LensShape(radii, "right")
    return nasal_right if side == "right" else nasal_right.mirrored()


def _radii_with_ed(a_mm: float, b_mm: float, ed_mm: float, count: int, family: str) -> FloatArray:
    """Radii whose longest is half the ED, with more of them where a corner falls between the angles."""
    nearest = inf
    for times in FINER:
        radii, error = _nearest_to_ed(_fullness_to_radii(family, a_mm, b_mm, times * count), ed_mm)
        if abs(error) <= (SHARP_TOLERANCE_MM if times == FINER[-1] else ED_TOLERANCE_MM):
            return radii
        nearest = min(nearest, error, key=abs)
        if error > 0.0:
            break  # the leanest shape of the family is still too full; finer angles change nothing
    allowed = f"{ed_mm + nearest:.2f} mm at the nearest for a {family} shape in this box"
    raise OpticsError("ED", ed_mm, "mm", allowed, "Choose another family or check the ED.")


def _nearest_to_ed(radii_for: Callable[[float], FloatArray], ed_mm: float) -> tuple[FloatArray, float]:
    """Bisect the fullness until the longest radius is right; returns the radii and how far out their ED is."""
    full, lean = FULLEST, LEANEST
    for _ in range(MOST_HALVINGS):
        middle = (full + lean) / 2.0
        radii = radii_for(middle)
        error = 2.0 * float(radii.max()) - ed_mm
        if abs(error) <= ED_TOLERANCE_MM / 20.0:
            break
        full, lean = (middle, lean) if error > 0.0 else (full, middle)
    return radii, error


def _fullness_to_radii(family: str, a_mm: float, b_mm: float, count: int) -> Callable[[float], FloatArray]:
    """A function from fullness to the radii of the family's outline in the box A × B."""
    # Only where angles fall on both axes do the points of a superellipse fill its box by themselves.
    if family == DEFAULT_FAMILY and count % 4 == 0:
        return _superellipse_in_box(a_mm, b_mm, count)
    return _bent_into_box(_unit_outline(family), a_mm, b_mm, count)


def _superellipse_in_box(a_mm: float, b_mm: float, count: int) -> Callable[[float], FloatArray]:
    """The superellipse's radii in closed form: r = (|2 cos t/A|^p + |2 sin t/B|^p)^(-1/p), p = 2 / fullness."""
    shares = np.abs(outline.directions(count)) * np.array([2.0 / a_mm, 2.0 / b_mm])
    largest = shares.max(axis=1)
    rest = shares.min(axis=1) / largest

    def radii_for(fullness: float) -> FloatArray:
        exponent = 2.0 / fullness
        radii: FloatArray = (1.0 + rest**exponent) ** (-1.0 / exponent) / largest
        return radii

    return radii_for


def _bent_into_box(unit: FloatArray, a_mm: float, b_mm: float, count: int) -> Callable[[float], FloatArray]:
    """A function from fullness to the radii of the unit outline, bent and stretched to the box A × B."""
    box = (-a_mm / 2.0, a_mm / 2.0, -b_mm / 2.0, b_mm / 2.0)

    def radii_for(fullness: float) -> FloatArray:
        bent = np.sign(unit) * np.abs(unit) ** fullness
        return outline.radii_in_box(bent * np.array([a_mm / 2.0, b_mm / 2.0]), count, box)

    return radii_for


def _unit_outline(family: str) -> FloatArray:
    """The family's outline for a right lens (x nasal, y up) stretched to the box ±1, as a fine polygon."""
    if family in ANCHORS:
        points = _through_anchors(ANCHORS[family])
    elif family in CORNERS:
        cut, corners = CORNERS[family]
        points = _rounded_corners(np.array(corners), cut)
    else:
        points = outline.directions(FINE)
    left, right, bottom, top = outline.box_of(points)
    middle = np.array([left + right, bottom + top]) / 2.0
    stretched: FloatArray = (points - middle) / np.array([(right - left) / 2.0, (top - bottom) / 2.0])
    return stretched


def _through_anchors(anchors: tuple[tuple[float, float], ...]) -> FloatArray:
    """A smooth closed curve through (angle, radius) anchors: periodic cubic spline of the radius."""
    angles = np.radians([angle for angle, _ in anchors])
    radii = np.array([radius for _, radius in anchors])
    gaps = np.diff(np.append(angles, angles[0] + 2.0 * np.pi))
    bends = _periodic_second_derivatives(gaps, radii)
    unit = outline.directions(FINE)
    at = np.arange(FINE) * (2.0 * np.pi / FINE)
    piece = np.searchsorted(angles, at, side="right") - 1
    following = (piece + 1) % len(anchors)
    gap, share = gaps[piece], (at - angles[piece]) / gaps[piece]
    rest = 1.0 - share
    radius = rest * radii[piece] + share * radii[following]
    radius += gap**2 / 6.0 * ((rest**3 - rest) * bends[piece] + (share**3 - share) * bends[following])
    smooth: FloatArray = unit * radius[:, None]
    return smooth


def _periodic_second_derivatives(gaps: FloatArray, values: FloatArray) -> FloatArray:
    """Second derivatives at the knots of the closed cubic spline through the values."""
    count = len(values)
    system, right_side = np.zeros((count, count)), np.zeros(count)
    for i in range(count):
        before, after = (i - 1) % count, (i + 1) % count
        system[i, before] += gaps[before] / 6.0
        system[i, i] += (gaps[before] + gaps[i]) / 3.0
        system[i, after] += gaps[i] / 6.0
        slope_after = (values[after] - values[i]) / gaps[i]
        right_side[i] = slope_after - (values[i] - values[before]) / gaps[before]
    return np.asarray(np.linalg.solve(system, right_side), dtype=np.float64)


def _rounded_corners(corners: FloatArray, cut: float) -> FloatArray:
    """The polygon with each corner replaced by a parabola that meets the sides `cut` of their length away."""
    share = np.linspace(0.0, 1.0, 60)[:, None]
    arcs = []
    for before, corner, after in zip(np.roll(corners, 1, 0), corners, np.roll(corners, -1, 0), strict=True):
        start, end = corner + cut * (before - corner), corner + cut * (after - corner)
        arcs.append((1 - share) ** 2 * start + 2 * share * (1 - share) * corner + share**2 * end)
    return np.concatenate(arcs)
