"""What was read of one finished lens, in whichever cylinder form it was read. Must never know the order."""

from __future__ import annotations

from dataclasses import dataclass

from orders.documents.finished_pair import EyeReadings
from orders.rules.powers import WrittenPower
from orders.verification.readable import readable

HALF_TURN = 180.0


@dataclass(frozen=True)
class FoundEye:
    """One lens as read; powers in D, prism in Δ, lengths in mm. A cylinder of 0, or none, is a sphere."""

    power: WrittenPower
    add: float | None
    prism_in: float | None
    prism_up: float | None
    pd_mm: float | None
    height_mm: float | None
    centre_thickness_mm: float | None
    base_curve_d: float | None

    @property
    def has_power(self) -> bool:
        return self.power.sphere is not None

    @property
    def axis(self) -> float | None:
        """The axis of the cylinder read, 0 to 180; None for a sphere, or an axis that no lensmeter shows."""
        axis = self.power.axis
        return axis if self.power.cylinder and axis is not None and 0.0 <= axis <= HALF_TURN else None


def found_eye(readings: EyeReadings | None) -> FoundEye:
    read = readings or EyeReadings()
    return FoundEye(
        power=WrittenPower(readable(read.sphere), readable(read.cylinder) or None, read.axis, None),
        add=readable(read.add),
        prism_in=readable(read.prism_in),
        prism_up=readable(read.prism_up),
        pd_mm=readable(read.pd_mm),
        height_mm=readable(read.height_mm),
        centre_thickness_mm=readable(read.centre_thickness_mm),
        base_curve_d=readable(read.base_curve_d),
    )
