"""Readings taken by hand, put together: their mean, how far they lie apart, and the ± the method deserves.

One reading with a rule looks as sure as one from an instrument; the ± says how sure it is. It must never know
who took the readings or in which frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev

from dispensing.fitting.chain import COVERAGE_FACTOR
from dispensing.optics.errors import OpticsError, require_finite
from dispensing.optics.rounding import round_to

ANGLE_STEP_DEG = 0.5


@dataclass(frozen=True)
class Repeatability:
    """The standard deviation of one reading by one person on one wearer, in the quantity's own unit."""

    sd: float
    source: str


GARCIA_ESPINILLA = "Garcia-Espinilla et al., Clin Exp Optom 105:420, 2022"
MCMAHON = "McMahon et al., Optom Vis Sci 89, 2012"
COMMON = "common practice"

# "Below 0.50 mm" is taken as 0.50, "above 1.9°" as 2.0: the ± stated is never smaller than what was found.
_PD_BY_RULE = Repeatability(0.50, GARCIA_ESPINILLA)
# Repeatability of about ±0.75 mm, taken as the 95 % band of one reading.
_PD_BY_PUPILLOMETER = Repeatability(0.75 / COVERAGE_FACTOR, MCMAHON)
_PD_BY_PHOTO = Repeatability(0.50, GARCIA_ESPINILLA)

REPEATABILITY: dict[tuple[str, str], Repeatability] = {
    **{(name, "rule"): _PD_BY_RULE for name in ("pd_mm", "near_pd_mm", "binocular_pd_mm")},
    **{(name, "pupillometer"): _PD_BY_PUPILLOMETER for name in ("pd_mm", "near_pd_mm", "binocular_pd_mm")},
    **{(name, "photo"): _PD_BY_PHOTO for name in ("pd_mm", "near_pd_mm", "binocular_pd_mm")},
    ("height_mm", "rule"): Repeatability(0.46, GARCIA_ESPINILLA),
    ("height_mm", "gauge"): Repeatability(0.46, GARCIA_ESPINILLA),
    ("height_mm", "photo"): Repeatability(0.80, GARCIA_ESPINILLA),
    ("vertex_mm", "rule"): Repeatability(0.75, COMMON),
    ("vertex_mm", "gauge"): Repeatability(0.50, COMMON),
    ("vertex_mm", "photo"): Repeatability(0.50, COMMON),
    ("pantoscopic_deg", "rule"): Repeatability(2.0, GARCIA_ESPINILLA),
    ("pantoscopic_deg", "gauge"): Repeatability(1.0, COMMON),
    ("pantoscopic_deg", "photo"): Repeatability(1.0, COMMON),
    ("face_form_deg", "rule"): Repeatability(2.5, COMMON),
    ("face_form_deg", "gauge"): Repeatability(1.5, COMMON),
    ("face_form_deg", "photo"): Repeatability(2.0, COMMON),
}


# How many SD the largest and smallest of n readings may lie apart (95 %): ISO 5725-6:1994, table 1.
CRITICAL_RANGE_FACTOR = {1: 0.0, 2: 2.8, 3: 3.3, 4: 3.6, 5: 3.9, 6: 4.0, 7: 4.2, 8: 4.3}
# Two heights more than this apart want a third (common practice, half the tolerance of the pair on either side).
TWO_HEIGHTS_MM = 1.0


@dataclass(frozen=True)
class HandFigure:
    """The mean of the readings, largest less smallest, and the ± (95 %); all in the quantity's unit.

    ``plus_minus`` is None where nothing is known of the method: copied figures, or a method not used for this.
    ``scattered``: the readings lie further apart than those of this method do in 19 cases of 20.
    """

    value: float
    spread: float
    plus_minus: float | None
    count: int
    scattered: bool = False


def figure_from_readings(readings: Sequence[float], quantity: str, method: str) -> HandFigure:
    """Readings of one quantity by one method, in mm or degrees, as one figure.

    The ± is 1.96 SD of the mean: the method's published SD of one reading over the root of their number.
    Readings that scatter more than the method should do not make it smaller: with three or more, their own SD is
    taken where it is the larger. Raises OpticsError without readings or for one that is not finite.
    """
    if not readings:
        raise OpticsError("number of readings", 0, "", "at least one")
    values = [require_finite("reading", reading, "") for reading in readings]
    count = len(values)
    usual = REPEATABILITY.get((quantity, method))
    spread = max(values) - min(values)
    if usual is None:
        return HandFigure(fmean(values), spread, None, count)
    sd = max(usual.sd, stdev(values)) if count > 2 else usual.sd
    scattered = spread > _critical_range(quantity, usual.sd, count) + 1e-9
    return HandFigure(fmean(values), spread, COVERAGE_FACTOR * sd / sqrt(count), count, scattered)


def as_ordered(value: float, unit: str, step_mm: float) -> float:
    """A figure as it is shown and ordered: a length in mm to the practice's step, an angle to half a degree.

    ``unit``: ``mm`` or ``°``. Finer than half a degree no hand can measure.
    """
    return round_to(value, step_mm if unit == "mm" else ANGLE_STEP_DEG)


def _critical_range(quantity: str, sd: float, count: int) -> float:
    if quantity == "height_mm" and count == 2:
        return TWO_HEIGHTS_MM
    return CRITICAL_RANGE_FACTOR[min(count, max(CRITICAL_RANGE_FACTOR))] * sd
