"""One eye's written power in the form that rules compare: whatever is known, in both meridians, even if incomplete.

A prescription being checked may lack an axis or a sphere, and rules about the rest still need what is known. This
module must never judge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism, resultant
from orders.documents.lens_order import OrderedPower, PrescribedEye, PrismPart

LARGEST_USABLE_D = 100.0


@dataclass(frozen=True)
class WrittenPower:
    """Sphere, cylinder and add in D, axis in degrees, as written; a cylinder or add of 0 counts as none."""

    sphere: float | None
    cylinder: float | None
    axis: float | None
    add: float | None
    prisms: tuple[PrismPart, ...] = ()

    @classmethod
    def of(cls, eye: PrescribedEye) -> WrittenPower:
        return cls(eye.sphere, eye.cylinder or None, eye.axis, eye.add or None, eye.prism)

    @classmethod
    def ordered(cls, power: OrderedPower, prescribed: WrittenPower) -> WrittenPower:
        """A power stated in the order; its prism is the prescribed one unless it states its own."""
        prisms = prescribed.prisms if power.prism is None else power.prism
        return cls(power.sphere, power.cylinder or None, power.axis, prescribed.add, prisms)

    def with_add(self, add: float) -> WrittenPower:
        """The power for near or intermediate in one lens: the add on the sphere, and no add left."""
        return replace(self, sphere=None if self.sphere is None else self.sphere + add, add=None)

    @cached_property
    def optical(self) -> SphereCylinder | None:
        """The power, or None when the sphere, or the axis of a cylinder, is missing or impossible."""
        try:
            power = SphereCylinder.written(self.sphere, self.cylinder, self.axis)
        except OpticsError:
            return None
        return power if self.strongest_d is not None and self.strongest_d <= LARGEST_USABLE_D else None

    @cached_property
    def meridians_d(self) -> tuple[float, ...]:
        """The powers of the principal meridians: none, one (no cylinder) or two; needs no axis."""
        if self.sphere is None:
            return ()
        if self.cylinder is None:
            return (self.sphere,)
        across = self.sphere + self.cylinder
        return (self.sphere, across) if math.isfinite(across) else (self.sphere,)

    @cached_property
    def strongest_d(self) -> float | None:
        """The larger of the meridians' powers, ignoring the sign."""
        return max((abs(power) for power in self.meridians_d), default=None)

    @cached_property
    def mean_sphere(self) -> float | None:
        """Sphere plus half the cylinder; needs no axis."""
        powers = self.meridians_d
        return sum(power / len(powers) for power in powers) if powers else None

    @cached_property
    def minus_form(self) -> WrittenPower:
        """The same power in minus cylinder form."""
        if self.sphere is None or self.cylinder is None or self.cylinder < 0.0:
            return self
        axis = None if self.axis is None else (self.axis + 90.0 if self.axis <= 90.0 else self.axis - 90.0)
        return WrittenPower(self.sphere + self.cylinder, -self.cylinder, axis, self.add, self.prisms)

    @cached_property
    def prism(self) -> Prism | None:
        """This eye's prisms combined; None if there are none or one lacks its amount or base."""
        given = [prism for prism in self.prisms if prism.amount]
        if not given:
            return None
        try:
            return resultant(Prism.from_base(prism.amount or 0.0, prism.base) for prism in given)
        except OpticsError:
            return None

    @property
    def prism_pd(self) -> float:
        """The size of the resultant prism, Δ; 0 for none."""
        return 0.0 if self.prism is None else self.prism.amount_pd
