"""The distances at which people work close by, and the dioptres that each of them asks for."""

from __future__ import annotations

from dispensing.trade.facts import figure
from dispensing.trade.limits import Limits

TEN = 10.0
METRE_MM = 1000.0
RULE = "working-distance"


def possible_mm(limits: Limits) -> tuple[float, float]:
    """The shortest and the longest distance that anybody works at."""
    return limits.of("near-distance", "least_mm"), limits.of("near-distance", "most_mm")


def meant_mm(slip: float, limits: Limits) -> float | None:
    """What an impossible distance was probably meant to be, its decimal point moved: 400 for 40; else None."""
    low, high = possible_mm(limits)
    return next((value for value in (slip * TEN, slip / TEN) if low <= value <= high), None)


def asked_d(distance_mm: float) -> float:
    """The dioptres that an object so far before the spectacles asks for, from add and eye together."""
    return METRE_MM / distance_mm


def may_lack_d(age_years: int, limits: Limits) -> float:
    """How many of those dioptres the add may leave to an eye of this age: half of what it still gives, and some room.

    Mean amplitude by Hofstetter, 18.5 − 0.3 × age; half of it can be used for long in comfort.
    """
    amplitude = figure("amplitude", "at_birth_d") - figure("amplitude", "lost_a_year_d") * age_years
    return limits.of(RULE, "add_too_weak_d") + max(amplitude, 0.0) / 2.0
