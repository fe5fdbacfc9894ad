"""The one error of the optics core, and the guards that raise it.

Every function of the core checks what it is given through these guards, so that a number that is missing, not finite or
impossible is refused by name instead of being passed on as NaN.  This module must never know what a prescription, an
order or a page is.
"""

from __future__ import annotations

import math
from typing import Any


class OpticsError(ValueError):
    """A value that the optics cannot work with.

    quantity: what the value is, in trade words ("sphere", "vertex distance").
    value:    what was found.
    unit:     "D", "mm", "deg", "Δ" or "" where there is none.
    allowed:  the allowed range or words, as text.
    """

    def __init__(self, quantity: str, value: object, unit: str, allowed: str, advice: str = "") -> None:
        self.quantity = quantity
        self.value = value
        self.unit = unit
        self.allowed = allowed
        self.advice = advice
        found = f"{value} {unit}".rstrip() if value is not None else "missing"
        message = f"The {quantity} is {found}; allowed: {allowed}."
        super().__init__(f"{message} {advice}".rstrip())


def require_finite(quantity: str, value: Any, unit: str) -> float:
    """Return `value` as a float, or raise OpticsError if it is missing, not a number, NaN or infinite."""
    # Nearly every value is a plain number; this is asked hundreds of times an order.
    if type(value) is float and math.isfinite(value):
        return value
    # Text is for `notation` to read; an array of one figure is a figure in the wrong place.
    if isinstance(value, str | bytes) or getattr(value, "ndim", 0) != 0:
        raise OpticsError(quantity, value, unit, "a number")
    try:
        number = float(value)
    except (TypeError, ValueError):
        raise OpticsError(quantity, value, unit, "a number") from None
    except OverflowError:
        raise OpticsError(quantity, "too large", unit, "a finite number") from None
    if not math.isfinite(number):
        raise OpticsError(quantity, value, unit, "a finite number")
    return number


def require_range(quantity: str, value: Any, unit: str, low: float, high: float) -> float:
    """Return `value` as a float if low <= value <= high, else raise OpticsError naming the range."""
    # As above; infinite limits leave the question to what follows.
    if type(value) is float and low <= value <= high and math.isfinite(value):
        return value
    number = require_finite(quantity, value, unit)
    if not low <= number <= high:
        raise OpticsError(quantity, value, unit, f"{low:g} to {high:g} {unit}".rstrip())
    return number
