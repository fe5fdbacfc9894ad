"""The array types and the few helpers that all parts of the measuring chain share.

The chain is written once and runs on a batch: every quantity is an array with one entry for each variant of the input
(the marks as made, then each input shifted a little, or thousands of random draws). This module must never know what
the variants are for.

A point of a photo is a complex number, so that turning the photo is one multiplication. A missing mark is NaN, and NaN
spreads: whatever depends on a missing mark also comes out as NaN and is reported as null.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
Columns = Mapping[str, FloatArray]
Figures = dict[str, FloatArray]


def pixel_point(columns: Columns, name: str) -> ComplexArray:
    """The mark ``name`` as x + iy in pixels, x to the right and y *down*, as in the document."""
    return columns[f"{name}.x"] + 1j * columns[f"{name}.y"]
