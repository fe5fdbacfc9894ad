"""What a prescription is compared with: the last one, or else the pair worn now as the lensmeter reads it.

It says only what may be compared and what it is called. This module must never judge.
"""

from __future__ import annotations

from dataclasses import dataclass

from dispensing.prescribing.uses import comparable_uses
from orders.documents.lens_order import Eye, LensOrder, PresentSpectacles
from orders.rules.powers import WrittenPower

WORN = "the pair worn now"


@dataclass(frozen=True)
class Earlier:
    """One eye's earlier power and where it is from."""

    power: WrittenPower
    is_worn: bool

    @property
    def name(self) -> str:
        return WORN if self.is_worn else "the last prescription"

    def had(self, value: str) -> str:
        """``last time it was +2.00``."""
        return f"{WORN} has {value}" if self.is_worn else f"last time it was {value}"

    def its(self, value: str) -> str:
        """``last time's 170``."""
        return f"the {value} of {WORN}" if self.is_worn else f"last time's {value}"


def earlier_of(last: WrittenPower | None, worn: WrittenPower | None) -> Earlier | None:
    """The last prescription of the eye, or else the pair worn now; None if neither gives any power."""
    for power, is_worn in ((last, False), (worn, True)):
        if power is not None and (power.sphere, power.cylinder, power.add) != (None, None, None):
            return Earlier(power, is_worn)
    return None


def worn_power(order: LensOrder, eye: Eye) -> WrittenPower | None:
    """What the pair worn now reads for this eye, if it is worn for the distance that is prescribed for.

    Reading spectacles are no measure of a prescription for the distance. If nothing says what the pair is for, it
    counts as reading spectacles if it is nearer to the power for near.
    """
    worn, now = order.patient.present_spectacles, WrittenPower.of(order.prescription.eye(eye))
    if worn is None or not _is_comparable(worn, order):
        return None
    power = WrittenPower.of(worn.eye(eye))
    return None if worn.use is None and _reads_like_near(power, now) else power


def _is_comparable(worn: PresentSpectacles, order: LensOrder) -> bool:
    use = order.prescription.use
    return worn.use is None or worn.use in comparable_uses(use or "distance")


def _reads_like_near(worn: WrittenPower, now: WrittenPower) -> bool:
    if worn.add is not None or now.add is None or worn.mean_sphere is None or now.mean_sphere is None:
        return False
    return abs(worn.mean_sphere - now.mean_sphere - now.add) < abs(worn.mean_sphere - now.mean_sphere)
