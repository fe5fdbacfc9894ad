"""How large a spectacle lens makes the image, and how much the two eyes' images differ in size.

Spectacle magnification is the shape factor times the power factor (Bennett and Rabbetts; Jalie).  This module must
never judge what a wearer can tolerate.
"""

from __future__ import annotations

from dataclasses import dataclass

from dispensing.optics.errors import OpticsError, require_range

RANGES = {
    "power_d": (-60.0, 60.0),
    "front_power_d": (-40.0, 40.0),
    "centre_thickness_mm": (0.0, 40.0),
    "index": (1.3, 2.2),
    "eye_distance_mm": (0.0, 60.0),
}
SHORTEST = 0.01
"""What must be left of 1 for a factor not to run away."""


@dataclass(frozen=True, slots=True)
class MagnifyingLens:
    """What decides the size of the image of one eye.

    power_d: back vertex power in D (along the meridian looked at); front_power_d: true front surface power
    in D; centre_thickness_mm; index; eye_distance_mm: back apex to cornea (handbook) or to the entrance
    pupil (3 mm more), mm.  Its factors raise OpticsError for a value out of range.
    """

    power_d: float
    front_power_d: float
    centre_thickness_mm: float
    index: float
    eye_distance_mm: float

    @property
    def shape_factor(self) -> float:
        """1 / (1 - (t/n) F1), without unit."""
        return shape_factor(self.front_power_d, self.centre_thickness_mm, self.index)

    @property
    def power_factor(self) -> float:
        """1 / (1 - d F), without unit."""
        return power_factor(self.power_d, self.eye_distance_mm)

    @property
    def magnification(self) -> float:
        """Shape factor times power factor; 1.05 is an image 5 % larger than without the lens."""
        return self.shape_factor * self.power_factor


def shape_factor(front_power_d: float, centre_thickness_mm: float, index: float) -> float:
    """1 / (1 - (t/n) F1): true front surface power in D, thickness in mm."""
    front = require_range("front surface power", front_power_d, "D", *RANGES["front_power_d"])
    thickness = require_range("centre thickness", centre_thickness_mm, "mm", *RANGES["centre_thickness_mm"])
    n = require_range("refractive index", index, "", *RANGES["index"])
    return _reciprocal("centre thickness", thickness, 1.0 - thickness / 1000.0 / n * front)


def power_factor(power_d: float, eye_distance_mm: float) -> float:
    """1 / (1 - d F): back vertex power in D, distance from the back apex to the eye in mm."""
    power = require_range("back vertex power", power_d, "D", *RANGES["power_d"])
    distance = require_range("distance to the eye", eye_distance_mm, "mm", *RANGES["eye_distance_mm"])
    return _reciprocal("distance to the eye", distance, 1.0 - distance / 1000.0 * power)


def image_size_difference_percent(right: MagnifyingLens, left: MagnifyingLens) -> float:
    """By how many per cent the right eye's image is larger than the left eye's; negative: smaller.

    A percentage of the mean of both, so that exchanging the eyes changes only the sign.
    """
    first, second = right.magnification, left.magnification
    return 200.0 * (first - second) / (first + second)


def _reciprocal(quantity: str, value_mm: float, left_over: float) -> float:
    if left_over <= SHORTEST:
        raise OpticsError(quantity, value_mm, "mm", "short of the focal length of the lens")
    return 1.0 / left_over
