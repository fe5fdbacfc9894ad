"""The one array type of the optics core, and the guards for many figures at once; it has no units of its own.

It does for arrays what `errors` does for single figures: a figure that is missing, not a number, not finite or out of
range is refused by name. This module must never know what the figures mean.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from dispensing.optics.errors import OpticsError

FloatArray = NDArray[np.float64]

LARGEST_FIGURE = 1e100
"""Keeps every square and sum of figures within what a float can hold."""


def read_only(values: ArrayLike) -> FloatArray:
    """A private, read-only copy of the values."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


def as_numbers(quantity: str, values: ArrayLike, unit: str) -> FloatArray:
    """The values as an array of floats; OpticsError if any of them is not a number (None becomes NaN)."""
    try:
        array = np.asarray(values)
        if array.dtype.kind in "US":
            raise ValueError("text")
        return array.astype(np.float64, copy=False)
    except (TypeError, ValueError, OverflowError):
        raise OpticsError(quantity, values, unit, "numbers") from None


def finite_array(quantity: str, values: ArrayLike, unit: str) -> FloatArray:
    """`values` as an array of floats; OpticsError if any is missing, non-numeric, NaN, infinite or beyond 1e100."""
    array = as_numbers(quantity, values, unit)
    if not (np.abs(array) <= LARGEST_FIGURE).all():
        raise OpticsError(quantity, "not finite in at least one place", unit, "finite numbers")
    return array


def require_all(quantity: str, values: ArrayLike, unit: str, low: float, high: float, one: str = "lens") -> FloatArray:
    """The values as an array if every one lies within the range, else OpticsError naming the first that does not.

    one: what each value belongs to when there are several, for the message ("sphere of lens 3").
    """
    array = as_numbers(quantity, values, unit)
    # Check the least and the greatest first: that is quick for many figures, and NaN fails both comparisons.
    if array.size and not (low <= array.min() and array.max() <= high):
        wrong = ~((low <= array) & (array <= high))
        first = int(np.argmax(wrong))
        name = f"{quantity} of {one} {first + 1}" if array.size > 1 else quantity
        raise OpticsError(name, float(array.flat[first]), unit, f"{low:g} to {high:g} {unit}".rstrip())
    return array
