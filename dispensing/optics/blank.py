"""Whether the lens cuts out: the smallest uncut blank for a shape, how much a given blank falls short, and where.

Positions are mm in the wearer's frame (in +, up +) from the boxed centre. The prism reference point (the optical centre
of a single vision lens; for a progressive lens a few mm below the fitting cross) is placed by the decentration; from
there the blank's own layout gives the middle of the uncut lens. A lens cuts out when every point of the shape, grown by
1 mm for edging, lies inside the blank. Figures are exact for the polygon through the shape's radii, whose farthest
point is always a corner; a rim drawn smoothly through the same points can reach s²/(8R) farther (0.001 mm for 400
radii). Nothing here knows about catalogues or orders.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from dispensing.optics.arrays import FloatArray
from dispensing.optics.boxing import LensShape
from dispensing.optics.circles import Circle, farthest_from, parts_beyond
from dispensing.optics.errors import OpticsError, require_finite, require_range
from dispensing.optics.rounding import at_most, hundredths
from dispensing.trade import figure

EDGING_ALLOWANCE_MM = figure("blank-size", "edging_mm")
"""How far the shape is grown all round for edging, mm (2 mm on the diameter, the handbooks' usual allowance).
"""

FAR_OFF_MM = 200.0


@dataclass(frozen=True)
class Blank:
    """An uncut lens: its diameter, and where its middle lies from the prism reference point (mm, in +, up +)."""

    diameter_mm: float
    centre_in_mm: float = 0.0
    centre_up_mm: float = 0.0


@dataclass(frozen=True)
class BlankFit:
    """One blank compared with one shape: what its layout needs, and whether it has that much (mm)."""

    blank: Blank
    needed_mm: float

    @property
    def fits(self) -> bool:
        """Whether the lens cuts out, both diameters rounded to 0.01 mm."""
        return at_most(self.needed_mm, self.blank.diameter_mm)

    @property
    def shortfall_mm(self) -> float:
        """How much diameter is missing, mm; negative when there is some to spare."""
        return self.needed_mm - self.blank.diameter_mm


@dataclass(frozen=True)
class CutOff:
    """Where a blank falls short of a shape. Places are (in, up) in mm from the boxed centre, on the shape's own edge.

    `missing_mm`: how far the grown shape reaches beyond the blank at the worst place, along the radius of the blank (0
    when it cuts out); `worst_at`: that place; `stretches`: each part of the edge that the blank does not cover, as a
    line of points (shape (m, 2)) whose ends are exactly where the blank's edge, less the allowance, crosses it.
    """

    missing_mm: float
    worst_at: tuple[float, float]
    stretches: tuple[FloatArray, ...]


def prism_reference_point(
    decentration_in_mm: float, decentration_up_mm: float, cross_above_prism_point_mm: float = 0.0
) -> tuple[float, float]:
    """Where the prism reference point lies from the boxed centre, mm (in, up).

    decentration: that of the fitting cross (progressive, office) or of the optical centre (all others), in + and up +.
    cross_above_prism_point_mm: how far the cross of a progressive lens lies above the point; 0 for all others.
    """
    for name, value in (
        ("decentration in", decentration_in_mm),
        ("decentration up", decentration_up_mm),
        ("height of the cross above the prism reference point", cross_above_prism_point_mm),
    ):
        require_range(name, value, "mm", -FAR_OFF_MM, FAR_OFF_MM)
    return decentration_in_mm, decentration_up_mm - cross_above_prism_point_mm


def blank_needed_mm(
    shape: LensShape,
    prism_point_in_up_mm: tuple[float, float],
    *,
    centre_in_mm: float = 0.0,
    centre_up_mm: float = 0.0,
    allowance_mm: float = EDGING_ALLOWANCE_MM,
) -> float:
    """Exact smallest blank diameter, mm: 2 × (farthest point of the shape from the blank's middle +
    allowance).

    prism_point_in_up_mm: from the boxed centre (see `prism_reference_point`). centre_in_mm, centre_up_mm: the blank's
    middle from the prism reference point. Raises OpticsError for a place more than 200 mm away.
    """
    x, y = _middle(prism_point_in_up_mm, centre_in_mm, centre_up_mm)
    _allowance(allowance_mm)
    return 2.0 * (farthest_from(shape.points_in_up(), x, y)[0] + allowance_mm)


def _middle(prism_point: tuple[float, float], centre_in_mm: float, centre_up_mm: float) -> tuple[float, float]:
    if len(prism_point) != 2:
        raise OpticsError("prism reference point", prism_point, "", "two places, in and up, in mm")
    x = require_finite("prism reference point, in", prism_point[0], "mm")
    x += require_finite("middle of the blank from there, in", centre_in_mm, "mm")
    y = require_finite("prism reference point, up", prism_point[1], "mm")
    y += require_finite("middle of the blank from there, up", centre_up_mm, "mm")
    require_range("middle of the blank, in", x, "mm", -FAR_OFF_MM, FAR_OFF_MM)
    require_range("middle of the blank, up", y, "mm", -FAR_OFF_MM, FAR_OFF_MM)
    return x, y


def _allowance(value_mm: float) -> float:
    return require_range("edging allowance", value_mm, "mm", 0.0, 10.0)


def cut_off(
    shape: LensShape,
    prism_point_in_up_mm: tuple[float, float],
    blank: Blank,
    allowance_mm: float = EDGING_ALLOWANCE_MM,
) -> CutOff:
    """How much is missing, and where, when the shape is cut from the blank (see `CutOff`). All in mm."""
    x, y = _middle(prism_point_in_up_mm, blank.centre_in_mm, blank.centre_up_mm)
    points = shape.points_in_up()
    usable = _diameter(blank.diameter_mm) / 2.0 - _allowance(allowance_mm)
    distance, index = farthest_from(points, x, y)
    worst = float(points[index, 0]), float(points[index, 1])
    stretches = parts_beyond(points, Circle(x, y, max(usable, 0.0)))
    return CutOff(max(distance - usable, 0.0), worst, tuple(stretches))


def fit_of(blank: Blank, shape: LensShape, prism_point_in_up_mm: tuple[float, float]) -> BlankFit:
    """The blank compared with the shape, using the blank's own layout."""
    _diameter(blank.diameter_mm)
    needed = blank_needed_mm(
        shape, prism_point_in_up_mm, centre_in_mm=blank.centre_in_mm, centre_up_mm=blank.centre_up_mm
    )
    return BlankFit(blank, needed)


def _diameter(value_mm: float) -> float:
    return require_finite("diameter of the blank", value_mm, "mm")


def smallest_fitting_blank(
    blanks: Sequence[Blank], shape: LensShape, prism_point_in_up_mm: tuple[float, float]
) -> BlankFit | None:
    """The smallest blank from which the shape cuts out; None if there is none.

    Among equal diameters the one with most to spare is taken.
    """
    return _smallest_fitting(_fits(blanks, shape, prism_point_in_up_mm))


def _smallest_fitting(fits: Sequence[BlankFit]) -> BlankFit | None:
    fitting = (fit for fit in fits if fit.fits)
    return min(fitting, key=lambda fit: (fit.blank.diameter_mm, fit.needed_mm), default=None)


def _fits(blanks: Sequence[Blank], shape: LensShape, prism_point_in_up_mm: tuple[float, float]) -> list[BlankFit]:
    """Every blank compared with the shape; blanks whose middles lie alike need the same, which is worked out once."""
    found: dict[tuple[float, float], BlankFit] = {}
    fits = []
    for blank in blanks:
        first = found.get((blank.centre_in_mm, blank.centre_up_mm))
        if first is None:
            first = found[blank.centre_in_mm, blank.centre_up_mm] = fit_of(blank, shape, prism_point_in_up_mm)
        _diameter(blank.diameter_mm)
        fits.append(BlankFit(blank, first.needed_mm))
    return fits


def choose_blank(
    blanks: Sequence[Blank],
    shape: LensShape,
    prism_point_in_up_mm: tuple[float, float],
    ordered_mm: float | None = None,
) -> BlankFit:
    """The blank to use: the one of the ordered diameter; if none was ordered, the smallest that fits, or else the one
    that falls least short.

    Among several layouts of the ordered diameter the one with most to spare is used. An ordered diameter that is not
    listed is judged with its middle on the prism reference point. Raises OpticsError when there is no blank at all.
    """
    if ordered_mm is not None:
        listed = [b for b in blanks if hundredths(b.diameter_mm) == hundredths(ordered_mm)]
        fits = _fits(listed or [Blank(ordered_mm)], shape, prism_point_in_up_mm)
        return min(fits, key=lambda fit: fit.needed_mm)
    fits = _fits(blanks, shape, prism_point_in_up_mm)
    fit = _smallest_fitting(fits)
    if fit is not None:
        return fit
    if not blanks:
        advice = "Give a diameter, or list the blanks of the lens."
        raise OpticsError("number of blanks listed for this lens", 0, "", "at least one", advice)
    return min(fits, key=lambda fit: fit.shortfall_mm)


def blank_by_formula_mm(
    ed_mm: float, decentration_in_mm: float, decentration_up_mm: float = 0.0, allowance_mm: float = 2.0
) -> float:
    """Handbook rule: ED + 2 × decentration + allowance, mm (allowance 0, 1 or 2 by handbook; 2 by default).

    With a decentration up or down as well, the two are combined by Pythagoras. This is only a guide: it treats the
    shape as a circle as large as its ED. Source: BHVI Applied Optics ch. 21; NBEO formula.
    """
    require_range("ED", ed_mm, "mm", 1.0, FAR_OFF_MM)
    require_range("decentration in", decentration_in_mm, "mm", -FAR_OFF_MM, FAR_OFF_MM)
    require_range("decentration up", decentration_up_mm, "mm", -FAR_OFF_MM, FAR_OFF_MM)
    require_range("allowance", allowance_mm, "mm", 0.0, 20.0)
    return ed_mm + 2.0 * math.hypot(decentration_in_mm, decentration_up_mm) + allowance_mm
