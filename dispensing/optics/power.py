"""The power of a lens: one object, whichever notation it is written in.

Plus cylinder, minus cylinder, power vector and power matrix are notations of one power, so they are methods
here; the prescribed, ordered and worn powers are different things and get their own variables.  This module
must never know how a power is typed or printed (see notation) or where the lens sits (see vertex, tilt).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from dispensing.optics.arrays import FloatArray
from dispensing.optics.conventions import mirrored_axis, normalised_axis
from dispensing.optics.errors import OpticsError, require_finite, require_range
from dispensing.optics.power_vector import PowerVector

POWER_LIMIT_D = 200.0
"""No spectacle or contact lens, or sum of them, comes near this; anything beyond it is in the wrong unit."""

NO_CYLINDER_D = 1e-12


@dataclass(frozen=True, slots=True)
class PrincipalPower:
    """The power in D along one principal meridian, in degrees (0 < meridian <= 180)."""

    power: float
    meridian_deg: float


@dataclass(frozen=True, slots=True)
class SphereCylinder:
    """Sphere and cylinder in D, axis in degrees on the viewer's chart, 0 < axis <= 180.

    An axis of 0 is kept as 180; an axis without cylinder has no meaning and is kept as given.  Raises
    OpticsError for a value that is not finite, a power beyond ±200 D or an axis outside 0 to 180.
    """

    sphere: float
    cylinder: float = 0.0
    axis: float = 180.0

    def __post_init__(self) -> None:
        keep = object.__setattr__
        keep(self, "sphere", require_range("sphere", self.sphere, "D", -POWER_LIMIT_D, POWER_LIMIT_D))
        keep(self, "cylinder", require_range("cylinder", self.cylinder, "D", -POWER_LIMIT_D, POWER_LIMIT_D))
        keep(self, "axis", require_range("axis", self.axis, "deg", 0.0, 180.0) or 180.0)

    @classmethod
    def written(cls, sphere: float | None, cylinder: float | None = None, axis: float | None = None) -> SphereCylinder:
        """A power as a prescription gives it, where the cylinder and its axis may be absent.

        Raises OpticsError when the sphere is missing, or a cylinder has no axis.
        """
        if not cylinder:
            return cls(require_finite("sphere", sphere, "D"))
        if axis is None:
            raise OpticsError("axis", None, "deg", "1 to 180", "A cylinder needs its axis.")
        return cls(require_finite("sphere", sphere, "D"), cylinder, axis)

    @classmethod
    def from_vector(cls, vector: PowerVector) -> SphereCylinder:
        """The minus-cylinder form of a power vector: C = -2 sqrt(J0² + J45²), S = M - C/2."""
        half = math.hypot(vector.j0, vector.j45)
        if half < NO_CYLINDER_D:
            return cls(vector.m)
        axis = normalised_axis(math.degrees(math.atan2(vector.j45, vector.j0)) / 2.0)
        return cls(vector.m + half, -2.0 * half, axis)

    @classmethod
    def from_matrix(cls, matrix: ArrayLike) -> SphereCylinder:
        """The minus-cylinder form of a symmetric 2x2 power matrix in D (x right, y up on the chart).

        The antisymmetric part, if any, is a rotation and not a power, so it is left out.
        """
        m = np.asarray(matrix, dtype=np.float64)
        if m.shape != (2, 2):
            raise OpticsError("power matrix", f"of shape {m.shape}", "", "a 2 x 2 matrix")
        xx, yy, xy = float(m[0, 0]), float(m[1, 1]), float(m[0, 1] + m[1, 0]) / 2.0
        return cls.from_vector(PowerVector((xx + yy) / 2.0, (xx - yy) / 2.0, xy))

    @property
    def mean_sphere(self) -> float:
        """Spherical equivalent S + C/2, D."""
        return self.sphere + self.cylinder / 2.0

    def transposed(self) -> SphereCylinder:
        """The other notation of the same power: S + C, -C, axis turned by 90."""
        turned = self.axis - 90.0 if self.axis > 90.0 else self.axis + 90.0
        return SphereCylinder(self.sphere + self.cylinder, -self.cylinder, turned)

    def in_minus_cylinder(self) -> SphereCylinder:
        """This power with a cylinder of 0 or less."""
        return self.transposed() if self.cylinder > 0.0 else self

    def in_plus_cylinder(self) -> SphereCylinder:
        """This power with a cylinder of 0 or more."""
        return self.transposed() if self.cylinder < 0.0 else self

    def power_along(self, meridian_deg: float) -> float:
        """Power in D along a meridian in degrees: S + C sin²(axis - meridian)."""
        meridian = require_finite("meridian", meridian_deg, "deg")
        return self.sphere + self.cylinder * math.sin(math.radians(self.axis - meridian)) ** 2

    def principal_powers(self) -> tuple[PrincipalPower, PrincipalPower]:
        """The powers along the two principal meridians: first along the axis, then across it."""
        across = normalised_axis(self.axis + 90.0)
        return PrincipalPower(self.sphere, self.axis), PrincipalPower(self.sphere + self.cylinder, across)

    def vector(self) -> PowerVector:
        """This power as (M, J0, J45)."""
        half, twice = self.cylinder / 2.0, math.radians(2.0 * self.axis)
        return PowerVector(self.sphere + half, -half * math.cos(twice), -half * math.sin(twice))

    def matrix(self) -> FloatArray:
        """The 2x2 dioptric power matrix in D, x to the viewer's right and y up (Long 1976)."""
        v = self.vector()
        return np.array([[v.m + v.j0, v.j45], [v.j45, v.m - v.j0]])

    def mirrored(self) -> SphereCylinder:
        """The same power mirrored on to the fellow eye: only the axis changes, to 180 - axis."""
        return SphereCylinder(self.sphere, self.cylinder, mirrored_axis(self.axis))

    def __add__(self, other: SphereCylinder) -> SphereCylinder:
        return SphereCylinder.from_vector(self.vector() + other.vector())

    def __sub__(self, other: SphereCylinder) -> SphereCylinder:
        return SphereCylinder.from_vector(self.vector() - other.vector())

    def distance_to(self, other: SphereCylinder) -> float:
        """How far apart two powers are: the length of the difference of their power vectors, D."""
        return (self.vector() - other.vector()).length


def residual_cylinder(cylinder_d: float, axis_error_deg: float) -> float:
    """The cylinder in D left over when a cylinder sits off axis: 2 C sin(error), without sign."""
    cylinder = require_finite("cylinder", cylinder_d, "D")
    return abs(2.0 * cylinder * math.sin(math.radians(require_finite("axis error", axis_error_deg, "deg"))))
