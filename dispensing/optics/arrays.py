"""The one array type of the optics core: numpy arrays of 64-bit floats, nothing else, no units of its own."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def read_only(values: ArrayLike) -> FloatArray:
    """A private copy of the values that nobody can write to."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array
