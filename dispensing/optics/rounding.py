"""Rounding as the trade does it, and comparisons that agree with what is printed.

Half a step is rounded away from zero, as on paper; the binary leftovers of 0.1 + 0.2 are removed first.  Limits are
compared after both sides are rounded to 0.01, so that a figure never breaks a limit it seems to meet. This module must
never know what the figures mean.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal

from dispensing.optics.errors import OpticsError, require_finite

COMPARISON_STEP = 0.01

WITHOUT_FRACTIONS = 1e15
"""In steps: a float this many steps from 0 has no digits left for a fraction of a step."""

QUICK_BELOW = 1e6
CLEAR_OF_A_HALF = 0.499
"""In hundredths: below this size, and this far from a half, plain arithmetic rounds just as exact arithmetic does."""


def round_to(value: float, step: float) -> float:
    """`value` rounded to the nearest multiple of `step` (same unit, step > 0), halves away from zero."""
    number = require_finite("value to round", value, "")
    size = require_finite("rounding step", step, "")
    if size <= 0.0:
        raise OpticsError("rounding step", step, "", "more than 0")
    if abs(number) / size >= WITHOUT_FRACTIONS:
        return number
    # Twelve significant digits: more than any measured figure has, but too few to show binary noise.
    clean = Decimal(f"{number:.12g}")
    unit = Decimal(f"{size:.12g}")
    multiples = (clean / unit).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    return float(multiples * unit) + 0.0


def is_on_step(value: float, step: float) -> bool:
    """Whether `value` is a multiple of `step` (same unit), ignoring binary noise."""
    return abs(round_to(value, step) - value) < 1e-9


def hundredths(value: float) -> float:
    """A figure as it is compared and printed: rounded to 0.01 of its unit."""
    if isinstance(value, float) and -QUICK_BELOW < value < QUICK_BELOW:
        nearest = math.floor(value * 100.0 + 0.5)
        if abs(value * 100.0 - nearest) < CLEAR_OF_A_HALF:
            return nearest / 100.0
    return round_to(value, COMPARISON_STEP)


def at_most(found: float, limit: float) -> bool:
    """found <= limit, both rounded to 0.01."""
    return hundredths(found) <= hundredths(limit)


def at_least(found: float, limit: float) -> bool:
    """found >= limit, both rounded to 0.01."""
    return hundredths(found) >= hundredths(limit)


def more_than(found: float, limit: float) -> bool:
    """found > limit, both rounded to 0.01."""
    return not at_most(found, limit)


def less_than(found: float, limit: float) -> bool:
    """found < limit, both rounded to 0.01."""
    return not at_least(found, limit)
