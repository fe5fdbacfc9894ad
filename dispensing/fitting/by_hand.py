"""Readings taken by hand, combined: their mean, how far apart they lie, and the ± that the method deserves.

A reading with a rule looks as certain as one from an instrument; the ± says how certain it is. It must never know who
took the readings or in which frame.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev

from dispensing.fitting.chain import COVERAGE_FACTOR
from dispensing.optics.errors import OpticsError, require_finite
from dispensing.optics.rounding import round_to
from dispensing.trade.facts import data_file, figure

ANGLE_STEP_DEG = figure("figures-ordered", "angle_step_deg")


def _repeatability() -> Iterator[tuple[tuple[str, str], float]]:
    """By quantity and method, the standard deviation of one reading, in the quantity's own unit."""
    for row in data_file("repeatability")["row"]:
        halves = {method: half / COVERAGE_FACTOR for method, half in row.get("halves_of_95", {}).items()}
        for method, sd in (row.get("methods", {}) | halves).items():
            yield from (((quantity, method), sd) for quantity in row["quantities"])


REPEATABILITY = dict(_repeatability())

# How many SD apart the largest and smallest of n readings may lie (95 %): ISO 5725-6:1994, table 1.
CRITICAL_RANGE_FACTOR = {1: 0.0, 2: 2.8, 3: 3.3, 4: 3.6, 5: 3.9, 6: 4.0, 7: 4.2, 8: 4.3}
TWO_HEIGHTS_MM = figure("two-readings", "heights_apart_mm")
"""Two heights further apart than this call for a third."""


@dataclass(frozen=True)
class HandFigure:
    """The mean of the readings, the largest less the smallest, and the ± (95 %); all in the quantity's unit.

    ``plus_minus`` is None where nothing is known of the method: copied figures, or a method not used for this.
    ``scattered``: the readings lie further apart than readings by this method do in 19 cases out of 20.
    """

    value: float
    spread: float
    plus_minus: float | None
    count: int
    scattered: bool = False


def figure_from_readings(readings: Sequence[float], quantity: str, method: str) -> HandFigure:
    """Readings of one quantity by one method, in mm or degrees, as one figure.

    The ± is 1.96 SD of the mean: the method's published SD of one reading over the root of their number. Readings that
    scatter more than the method should must not make the ± smaller: with three or more, their own SD is used if it is
    larger. Raises OpticsError without readings or for one that is not finite.
    """
    if not readings:
        raise OpticsError("number of readings", 0, "", "at least one")
    values = [require_finite("reading", reading, "") for reading in readings]
    count = len(values)
    usual_sd = REPEATABILITY.get((quantity, method))
    spread = max(values) - min(values)
    if usual_sd is None:
        return HandFigure(fmean(values), spread, None, count)
    sd = max(usual_sd, stdev(values)) if count > 2 else usual_sd
    scattered = spread > _critical_range(quantity, usual_sd, count) + 1e-9
    return HandFigure(fmean(values), spread, COVERAGE_FACTOR * sd / sqrt(count), count, scattered)


def as_ordered(value: float, unit: str, step_mm: float) -> float:
    """A figure as it is shown and ordered: a length in mm to the practice's step, an angle to half a degree.

    ``unit``: ``mm`` or ``°``. Nobody can measure finer than half a degree by hand.
    """
    return round_to(value, step_mm if unit == "mm" else ANGLE_STEP_DEG)


def _critical_range(quantity: str, sd: float, count: int) -> float:
    if quantity == "height_mm" and count == 2:
        return TWO_HEIGHTS_MM
    return CRITICAL_RANGE_FACTOR[min(count, max(CRITICAL_RANGE_FACTOR))] * sd
