"""The pupil distances that people of an age have: of both eyes from the limits, of one eye worked out from them."""

from __future__ import annotations

from dataclasses import dataclass

from dispensing.trade.limits import Limits

RULE = "pd-range"


@dataclass(frozen=True, slots=True)
class PdBand:
    """Lowest and highest PD in mm, and who has it: ``adults``."""

    low: float
    high: float
    who: str = ""

    def __contains__(self, pd_mm: float) -> bool:
        return self.low <= pd_mm <= self.high


def usual_pd(limits: Limits, age_years: int | None) -> PdBand:
    """The PD of both eyes that is usual at an age; that of adults where the age is not known."""
    for who, words in (("child", "children"), ("youth", "young people")):
        if age_years is not None and age_years < limits.of(RULE, f"{who}_below_years"):
            return PdBand(limits.of(RULE, f"{who}_least_mm"), limits.of(RULE, f"{who}_most_mm"), words)
    return PdBand(limits.of(RULE, "adult_least_mm"), limits.of(RULE, "adult_most_mm"), "adults")


def possible_pd(limits: Limits) -> PdBand:
    """The PD of both eyes beyond which a figure is a slip."""
    return PdBand(limits.of(RULE, "least_possible_mm"), limits.of(RULE, "most_possible_mm"))


def of_one_eye(both: PdBand, limits: Limits) -> PdBand:
    """The monocular PDs that go with those of both eyes: half, with half of the usual unevenness on either side.

    Of 54 to 74 mm with 2 mm between the eyes: 26 to 38 mm.
    """
    uneven = limits.of("pd-asymmetry", "difference_mm") / 2.0
    return PdBand(both.low / 2.0 - uneven, both.high / 2.0 + uneven, both.who)


def near_of_one_eye(both: PdBand, limits: Limits) -> PdBand:
    """The near PD of one eye that goes with those: less by half of what far and near usually differ by."""
    far = of_one_eye(both, limits)
    least, most = limits.of("near-pd", "least_difference_mm"), limits.of("near-pd", "most_difference_mm")
    return PdBand(far.low - most / 2.0, far.high - least / 2.0, both.who)
