"""The difference in vertical prism between the two eyes when they read, and the slab-off that removes it.

Both eyes look through points the same distance below their reference points; each meets the prism of its own lens
there, and the difference is what the pair of eyes has to overcome.  This module must never decide how much a wearer can
tolerate: limits are rules.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from dispensing.optics.conventions import Base, Eye
from dispensing.optics.errors import require_range
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import COMPONENT_LIMIT_PD, prism_at
from dispensing.trade import figure

READING_LEVEL_MM = figure("vertical-imbalance", "below_mm")
"""Reading level below the reference points, mm, where nothing else is known (common practice)."""

SHARED_ABOVE_PD = figure("vertical-imbalance", "shared_above_pd")
"""Laboratories do not work more than this into one lens (common practice)."""


@dataclass(frozen=True, slots=True)
class VerticalImbalance:
    """Vertical prism in Δ, positive base up, that each eye meets at the reading level."""

    right_up_pd: float
    left_up_pd: float

    def __post_init__(self) -> None:
        for value in (self.right_up_pd, self.left_up_pd):
            require_range("vertical prism", value, "Δ", -COMPONENT_LIMIT_PD, COMPONENT_LIMIT_PD)

    @property
    def both(self) -> tuple[float, float]:
        """Right and left."""
        return self.right_up_pd, self.left_up_pd

    @property
    def signed_pd(self) -> float:
        """Right minus left, Δ; positive: the right eye meets more base up."""
        return self.right_up_pd - self.left_up_pd

    @property
    def magnitude_pd(self) -> float:
        """The imbalance without sign, Δ."""
        return abs(self.signed_pd)


@dataclass(frozen=True, slots=True)
class SlabOff:
    """Prism worked into the lower part of one lens: which eye, how much in Δ, and its base."""

    eye: Eye
    amount_pd: float
    base: Base


def vertical_imbalance(
    right: SphereCylinder,
    left: SphereCylinder,
    level_mm: float = READING_LEVEL_MM,
    *,
    right_inset_mm: float = 0.0,
    left_inset_mm: float = 0.0,
) -> VerticalImbalance:
    """The vertical prism of each eye `level_mm` below the reference points.

    Insets, in mm towards the nose, are where the eyes look when they converge; 0 gives the handbook's
    figure, the difference of the powers along 90 times the level in cm.
    """
    level = require_range("reading level", level_mm, "mm", 0.0, 60.0)
    return VerticalImbalance(
        prism_at(right, right_inset_mm, -level, "right").up_pd,
        prism_at(left, left_inset_mm, -level, "left").up_pd,
    )


def add_prism_up(add_d: float, corridor_mm: float, from_mm: float, to_mm: float) -> float:
    """The vertical prism in Δ, + base up, that a progressive add brings between two places in mm below its cross.

    The power is taken to rise evenly along the corridor and to stay beyond it: our own assumption, since no design
    says. Prism is power times distance, summed along the way.
    """
    add = require_range("add", add_d, "D", -10.0, 10.0)
    length = require_range("corridor", corridor_mm, "mm", 1.0, 40.0)
    ends = [require_range("place below the cross", value, "mm", 0.0, 60.0) for value in (from_mm, to_mm)]
    start, end = (at * at / (2.0 * length) if at <= length else at - length / 2.0 for at in ends)
    return add * (end - start) / 10.0


def slab_off(imbalance: VerticalImbalance) -> SlabOff | None:
    """The conventional slab-off: base up on the eye with the most minus or least plus along 90.

    That eye meets more base down (less base up) below its centre.  None where there is no imbalance.
    """
    return _slab(imbalance, on_right=imbalance.signed_pd < 0.0, base="up")


def reverse_slab_off(imbalance: VerticalImbalance) -> SlabOff | None:
    """The reverse (moulded) slab-off: base down on the fellow eye, the same amount."""
    return _slab(imbalance, on_right=imbalance.signed_pd > 0.0, base="down")


def proposed_slab_off(imbalance: VerticalImbalance, shared_above_pd: float = SHARED_ABOVE_PD) -> tuple[SlabOff, ...]:
    """What to propose: nothing, a slab-off, or beyond `shared_above_pd` Δ half of it and half a reverse slab-off.

    Sharing it from 6 Δ is common practice among laboratories.
    """
    limit = require_range("prism from which slab-off is shared", shared_above_pd, "Δ", 0.0, COMPONENT_LIMIT_PD)
    slab, reverse = slab_off(imbalance), reverse_slab_off(imbalance)
    if slab is None or reverse is None:
        return ()
    if slab.amount_pd <= limit:
        return (slab,)
    return tuple(replace(part, amount_pd=part.amount_pd / 2.0) for part in (slab, reverse))


def _slab(imbalance: VerticalImbalance, *, on_right: bool, base: Base) -> SlabOff | None:
    if imbalance.magnitude_pd < 1e-9:
        return None
    return SlabOff("right" if on_right else "left", imbalance.magnitude_pd, base)
