"""Powers as vectors, and the same arithmetic over many lenses at once.

A sphero-cylinder S / C x a is a point in a space of three: M = S + C/2, J0 = -(C/2) cos 2a,
J45 = -(C/2) sin 2a, all in D (Thibos, Wheeler and Horner, Optometry and Vision Science 74, 1997).  Sums
are component-wise.  The array functions take arrays of any common shape.  This module must never know how
a power is written on paper.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from dispensing.optics.arrays import FloatArray, finite_array
from dispensing.optics.errors import require_range

LARGEST_D = 10_000.0
"""Far larger than any sum or difference of lenses; anything beyond it is in the wrong unit."""

ThreeArrays = tuple[FloatArray, FloatArray, FloatArray]


@dataclass(frozen=True, slots=True)
class PowerVector:
    """A power as (M, J0, J45), each in D; OpticsError for one that is not finite or beyond ±10 000 D."""

    m: float
    j0: float
    j45: float

    def __post_init__(self) -> None:
        for name in ("m", "j0", "j45"):
            value = require_range(f"power vector {name.upper()}", getattr(self, name), "D", -LARGEST_D, LARGEST_D)
            object.__setattr__(self, name, value)

    def __add__(self, other: PowerVector) -> PowerVector:
        return PowerVector(self.m + other.m, self.j0 + other.j0, self.j45 + other.j45)

    def __sub__(self, other: PowerVector) -> PowerVector:
        return PowerVector(self.m - other.m, self.j0 - other.j0, self.j45 - other.j45)

    @property
    def length(self) -> float:
        """Blur strength B = sqrt(M² + J0² + J45²), D."""
        return math.sqrt(self.m**2 + self.j0**2 + self.j45**2)


def vectors_of(sphere: ArrayLike, cylinder: ArrayLike, axis_deg: ArrayLike) -> ThreeArrays:
    """(M, J0, J45) in D of many sphero-cylinders; arrays of one shape, D, D and degrees."""
    half = finite_array("cylinder", cylinder, "D") / 2.0
    twice = np.deg2rad(2.0 * finite_array("axis", axis_deg, "deg"))
    return finite_array("sphere", sphere, "D") + half, -half * np.cos(twice), -half * np.sin(twice)


def sphero_cylinders_of(m: ArrayLike, j0: ArrayLike, j45: ArrayLike) -> ThreeArrays:
    """(sphere D, cylinder D <= 0, axis degrees, 0 < axis <= 180) of many power vectors."""
    mean = finite_array("power vector M", m, "D")
    zero = finite_array("power vector J0", j0, "D")
    oblique = finite_array("power vector J45", j45, "D")
    cylinder = -2.0 * np.hypot(zero, oblique)
    axis = np.mod(np.rad2deg(np.arctan2(oblique, zero)) / 2.0, 180.0)
    axis = np.where((axis < 1e-9) | (axis > 180.0 - 1e-9), 180.0, axis)
    return mean - cylinder / 2.0, cylinder, axis


def matrices_of(sphere: ArrayLike, cylinder: ArrayLike, axis_deg: ArrayLike) -> FloatArray:
    """Dioptric power matrices, shape (..., 2, 2), D, on the viewer's chart (x right, y up).

    [[S + C sin²a, -C sin a cos a], [-C sin a cos a, S + C cos²a]]  (Long, Am J Optom 53, 1976).
    """
    m, j0, j45 = np.broadcast_arrays(*vectors_of(sphere, cylinder, axis_deg))
    return np.stack([np.stack([m + j0, j45], axis=-1), np.stack([j45, m - j0], axis=-1)], axis=-2)


def powers_along(sphere: ArrayLike, cylinder: ArrayLike, axis_deg: ArrayLike, meridian_deg: ArrayLike) -> FloatArray:
    """Power in D along a meridian of many sphero-cylinders: S + C sin²(axis - meridian)."""
    meridian = finite_array("meridian", meridian_deg, "deg")
    between = np.deg2rad(finite_array("axis", axis_deg, "deg") - meridian)
    turned: FloatArray = finite_array("cylinder", cylinder, "D") * np.sin(between) ** 2
    return finite_array("sphere", sphere, "D") + turned
