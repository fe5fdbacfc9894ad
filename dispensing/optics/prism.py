"""Prism: components, resultants, Prentice's rule for sphero-cylinders, and sharing between the eyes.

A prism on one eye is a pair of components in Δ (cm at 1 m): horizontal, positive base in, and vertical, positive base
up.  Points on a lens are given in mm from its optical centre, positive towards the nose and up. Prentice's rule in
matrix form (Long 1976; Jalie, Principles of Ophthalmic Lenses): in a plus lens the base points from the point looked
through towards the optical centre; prism = -F r with r in cm.  This module must never know why a prism is wanted.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.conventions import BASES, Base, Eye, nasal_sign
from dispensing.optics.errors import OpticsError, require_range
from dispensing.optics.power import SphereCylinder

PRISM_LIMIT_PD = 200.0
COMPONENT_LIMIT_PD = 10_000.0
"""Even the strongest lens, a hand's breadth off centre, stays below this; anything beyond it is in the wrong unit."""
NO_PRISM_PD = 1e-9


@dataclass(frozen=True, slots=True)
class Prism:
    """The prism of one eye in Δ: `in_pd` positive base in, `up_pd` positive base up.

    Raises OpticsError for a component that is not a finite number up to 10 000 Δ.
    """

    in_pd: float = 0.0
    up_pd: float = 0.0

    def __post_init__(self) -> None:
        for name, words in (("in_pd", "horizontal prism"), ("up_pd", "vertical prism")):
            value = require_range(words, getattr(self, name), "Δ", -COMPONENT_LIMIT_PD, COMPONENT_LIMIT_PD)
            object.__setattr__(self, name, value)

    @classmethod
    def from_base(cls, amount_pd: float, base: Base | Any) -> Prism:
        """A prism as written: an amount in Δ (0 or more) and its base: in, out, up or down."""
        amount = require_range("prism", amount_pd, "Δ", 0.0, PRISM_LIMIT_PD)
        if base not in BASES:
            raise OpticsError("prism base", base, "", "in, out, up or down")
        signed = amount if base in ("in", "up") else -amount
        return cls(signed, 0.0) if base in ("in", "out") else cls(0.0, signed)

    @classmethod
    def from_angle(cls, amount_pd: float, base_deg: float, eye: Eye) -> Prism:
        """A prism of `amount_pd` Δ whose base lies at `base_deg` (360 notation on the viewer's chart)."""
        amount = require_range("prism", amount_pd, "Δ", 0.0, PRISM_LIMIT_PD)
        angle = math.radians(require_range("prism base angle", base_deg, "deg", 0.0, 360.0))
        return cls(amount * math.cos(angle) * nasal_sign(eye), amount * math.sin(angle))

    @property
    def amount_pd(self) -> float:
        """The size of the resultant, Δ."""
        return math.hypot(self.in_pd, self.up_pd)

    def base_deg(self, eye: Eye) -> float:
        """The base of the resultant, 0 <= angle < 360 on the viewer's chart; 0 where there is no prism."""
        angle = math.degrees(math.atan2(self.up_pd, self.in_pd * nasal_sign(eye)))
        # A base within a rounding error below 360 is at 0.
        return 0.0 if abs(angle) < 1e-9 else angle % 360.0

    def written(self) -> tuple[tuple[float, Base], ...]:
        """The components as written on an order: up to two pairs of amount in Δ and base."""
        parts: list[tuple[float, Base]] = []
        if abs(self.in_pd) > NO_PRISM_PD:
            parts.append((abs(self.in_pd), "in" if self.in_pd > 0.0 else "out"))
        if abs(self.up_pd) > NO_PRISM_PD:
            parts.append((abs(self.up_pd), "up" if self.up_pd > 0.0 else "down"))
        return tuple(parts)

    def __add__(self, other: Prism) -> Prism:
        return Prism(self.in_pd + other.in_pd, self.up_pd + other.up_pd)

    def __sub__(self, other: Prism) -> Prism:
        return Prism(self.in_pd - other.in_pd, self.up_pd - other.up_pd)

    def __neg__(self) -> Prism:
        return Prism(-self.in_pd, -self.up_pd)


def resultant(prisms: Iterable[Prism]) -> Prism:
    """One prism that does the work of several on the same eye: components add."""
    total = Prism()
    for prism in prisms:
        total = total + prism
    return total


def nasal_matrix(power: SphereCylinder, eye: Eye) -> FloatArray:
    """The power matrix in D with x towards the nose instead of to the viewer's right."""
    matrix = power.matrix()
    if nasal_sign(eye) < 0.0:
        matrix[0, 1] = matrix[1, 0] = -matrix[0, 1]
    return matrix


def prism_at(power: SphereCylinder, x_in_mm: float, y_up_mm: float, eye: Eye) -> Prism:
    """The prism met when looking `x_in_mm` nasal of and `y_up_mm` above the optical centre.

    Prentice in matrix form, prism = -F r / 10 with r in mm.  A plus lens looked through below its centre
    gives base up.
    """
    point = np.array([_millimetres("point looked through, in", x_in_mm), _millimetres("point, up", y_up_mm)])
    across, up = (-nasal_matrix(power, eye) @ point / 10.0).tolist()
    return Prism(across + 0.0, up + 0.0)


def prism_from_decentration(power: SphereCylinder, moved_in_mm: float, moved_up_mm: float, eye: Eye) -> Prism:
    """The prism at the pupil when the optical centre is moved, or misplaced, by so many mm nasally and up."""
    moved_in = _millimetres("movement of the optical centre, in", moved_in_mm)
    moved_up = _millimetres("movement of the optical centre, up", moved_up_mm)
    return prism_at(power, -moved_in, -moved_up, eye)


def split_equally(right: Prism, left: Prism) -> tuple[Prism, Prism]:
    """The same binocular effect shared equally between the eyes (see `binocular_prism`)."""
    pair = binocular_prism(right, left)
    return Prism(pair.in_pd / 2.0, pair.up_pd / 2.0), Prism(pair.in_pd / 2.0, -pair.up_pd / 2.0)


def binocular_prism(right: Prism, left: Prism) -> Prism:
    """The prism of the pair: `in_pd` is the sum of both eyes (in adds to in), `up_pd` is right minus left."""
    return Prism(right.in_pd + left.in_pd, right.up_pd - left.up_pd)


def _millimetres(quantity: str, value: float) -> float:
    return require_range(quantity, value, "mm", -100.0, 100.0)
