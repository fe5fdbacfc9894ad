"""Image sizes of many lenses at once, in arrays and to the same bits as one by one.

Where one by one a figure is refused, here it is NaN: the caller has rows without one. Only for comparing many lenses;
everything else asks :mod:`dispensing.optics.magnification`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.conventions import TOOLING_INDEX
from dispensing.optics.magnification import RANGES, SHORTEST
from dispensing.optics.surface import HIGHEST_INDEX, LOWEST_INDEX, STEEPEST_D


def true_powers_from_marked(curve_d: FloatArray, index: FloatArray) -> FloatArray:
    """As :func:`true_from_marked` of 1.530 tooling curves, for arrays of one length and to the same bits; NaN where a
    value is not one or out of range.
    """
    held = (np.abs(curve_d) <= STEEPEST_D) & (index >= LOWEST_INDEX) & (index <= HIGHEST_INDEX)
    found: FloatArray = np.where(held, curve_d * (index - 1.0) / (TOOLING_INDEX - 1.0), np.nan)
    return found


def image_size_differences_percent(right: MagnifyingLenses, left: MagnifyingLenses) -> FloatArray:
    """As :func:`image_size_difference_percent` for many pairs at once, to the same bits; NaN where refused."""
    with np.errstate(all="ignore"):
        first, second = right.magnifications(), left.magnifications()
        found: FloatArray = 200.0 * (first - second) / (first + second)
    return found


@dataclass(frozen=True, eq=False)
class MagnifyingLenses:
    """The figures of :class:`MagnifyingLens` as arrays of one length; NaN where one is not known."""

    power_d: FloatArray
    front_power_d: FloatArray
    centre_thickness_mm: FloatArray
    index: FloatArray
    eye_distance_mm: FloatArray

    def magnifications(self) -> FloatArray:
        """Shape factor times power factor; NaN where a value is out of range."""
        shape = 1.0 - self.centre_thickness_mm / 1000.0 / self.index * self.front_power_d
        power = 1.0 - self.eye_distance_mm / 1000.0 * self.power_d
        left_over = (1.0 / shape) * (1.0 / power)
        held = [_within(getattr(self, name), *bounds) for name, bounds in RANGES.items()]
        usable = np.logical_and.reduce([*held, shape > SHORTEST, power > SHORTEST])
        return np.where(usable, left_over, np.nan)


def _within(values: FloatArray, low: float, high: float) -> Any:
    return (low <= values) & (values <= high)
