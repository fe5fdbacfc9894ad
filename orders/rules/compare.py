"""Comparisons with a limit, as in the report: both sides are rounded to 0.01 first.

This wraps the optics core's rounding. It is quick when rounding cannot matter, and safe for figures that a typing
error has made absurdly large, which that rounding refuses. This module must never know what is being compared.
"""

from __future__ import annotations

import math

from dispensing.optics import rounding
from dispensing.trade import figure

CLEARLY_APART = 0.011
"""Two figures farther apart than this stay in the same order when both are rounded to 0.01."""

BEYOND_ANY_FIGURE = 1e9
WRITTEN_WHOLE_D = figure("power-step-and-range", "step_d")
"""Multiples of a finer step do not fit two decimal places, so they are written truncated or rounded."""


def above(found: float, limit: float) -> bool:
    """found > limit, both rounded to 0.01."""
    # Written so that a value that is not a number, such as the difference of two infinities, exceeds no limit.
    if not abs(found - limit) <= CLEARLY_APART:
        return found > limit
    if abs(found) > BEYOND_ANY_FIGURE:
        return False
    return rounding.more_than(float(found), float(limit))


def below(found: float, limit: float) -> bool:
    """found < limit, both rounded to 0.01."""
    return above(limit, found)


def at_least(found: float, limit: float) -> bool:
    """found >= limit, both rounded to 0.01."""
    return not below(found, limit)


def at_most(found: float, limit: float) -> bool:
    """found <= limit, both rounded to 0.01."""
    return not above(found, limit)


def outside(found: float, low: float, high: float) -> bool:
    """Below `low` or above `high`, all rounded to 0.01."""
    return below(found, low) or above(found, high)


def same(first: float, second: float) -> bool:
    """Equal once both are rounded to 0.01."""
    return at_least(first, second) and at_most(first, second)


def on_step(value: float, step: float) -> bool:
    """Whether `value`, written with two decimals, is a multiple of `step` (0.12 and 0.13 are eighths)."""
    if abs(value) > BEYOND_ANY_FIGURE:
        return False
    nearest = round(value / step) * step
    return abs(nearest - value) < (0.0051 if step < WRITTEN_WHOLE_D else 1e-6)


def is_whole(value: float) -> bool:
    """Whether `value` is a whole number."""
    return math.isfinite(value) and value == math.floor(value)
