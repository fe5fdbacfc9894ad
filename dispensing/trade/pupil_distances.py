"""The pupil distances usual at an age: for both eyes from the limits, for one eye worked out from those."""

from __future__ import annotations

from dataclasses import dataclass

from dispensing.trade.facts import data_file, figure
from dispensing.trade.limits import Limits

RULE = "pd-range"
NEAR = "near-pd"


@dataclass(frozen=True, slots=True)
class PdBand:
    """Lowest and highest PD in mm, and who has it: ``adults``. ``whose``: the same after a figure; empty for adults."""

    low: float
    high: float
    who: str = ""
    whose: str = ""

    def __contains__(self, pd_mm: float) -> bool:
        return self.low <= pd_mm <= self.high


def usual_pd(limits: Limits, age_years: int | None) -> PdBand:
    """The usual PD of both eyes at an age; the adult one if the age is not known."""
    return _of_a_child(age_years) or _of_adults(limits)


def _of_adults(limits: Limits) -> PdBand:
    return PdBand(limits.of(RULE, "adult_least_mm"), limits.of(RULE, "adult_most_mm"), "adults")


def _of_a_child(age_years: int | None) -> PdBand | None:
    """The band of the first row whose age is not reached; None for adults and if the age is not known."""
    rows = data_file("pd_by_age")["band"] if age_years is not None else ()
    row = next((row for row in rows if age_years is not None and age_years < row["below_years"]), None)
    return None if row is None else PdBand(row["least_mm"], row["most_mm"], row["who"], row["whose"])


def possible_pd(limits: Limits, age_years: int | None = None) -> PdBand:
    """The possible range of the PD of both eyes at an age, the adult one if it is not known; beyond it is a slip.

    A child's may be as far below what is usual as an adult's.
    """
    least, most = limits.of(RULE, "least_possible_mm"), limits.of(RULE, "most_possible_mm")
    child = _of_a_child(age_years)
    below_usual = _of_adults(limits).low - least
    return PdBand(least if child is None else min(least, child.low - below_usual), most)


def of_one_eye(both: PdBand, limits: Limits) -> PdBand:
    """The monocular PDs that go with a PD of both eyes: half, plus or minus half the usual difference between the eyes.

    For 54 to 74 mm with a difference of 2 mm between the eyes: 26 to 38 mm.
    """
    uneven = limits.of("pd-asymmetry", "difference_mm") / 2.0
    return PdBand(both.low / 2.0 - uneven, both.high / 2.0 + uneven, both.who, both.whose)


def near_of_one_eye(both: PdBand, limits: Limits) -> PdBand:
    """The near PD of one eye that goes with a far PD of both eyes: less the usual difference between far and near."""
    far = of_one_eye(both, limits)
    least, most = usual_convergence(far.high, limits).low, usual_convergence(far.low, limits).high
    return PdBand(far.low - most, far.high - least, both.who, both.whose)


def usual_convergence(far_pd_mm: float, limits: Limits, near_distance_mm: float | None = None) -> PdBand:
    """How much smaller a near PD usually is than the far one, mm; for one eye or both.

    It grows with the PD. ``near_distance_mm``: measured from the lens; if it is not known, or too close for anybody to
    read at, the distance that the limits are given for is used. Behind a plano lens the eyes turn in by
    far · s / (W + s), with s from the lens to the centre of rotation, so another distance W gives another share.
    """
    stop_mm = figure("schematic-eye", "vertex_mm") + figure("schematic-eye", "cornea_to_rotation_mm")
    usual_mm = limits.of(NEAR, "at_distance_mm")
    known = near_distance_mm is not None and near_distance_mm >= figure("near-distance", "least_mm")
    distance_mm = near_distance_mm if known and near_distance_mm is not None else usual_mm
    percent_mm = far_pd_mm / 100.0 * (usual_mm + stop_mm) / (distance_mm + stop_mm)
    return PdBand(limits.of(NEAR, "least_percent") * percent_mm, limits.of(NEAR, "most_percent") * percent_mm)


def looks_like_one_eye(pd_mm: float, limits: Limits, age_years: int | None) -> bool:
    """Whether a PD given for both eyes is not usual at this age but would be possible for one eye."""
    least, most = figure("typed-fitting", "pd_least_mm"), figure("typed-fitting", "pd_most_mm")
    return pd_mm not in usual_pd(limits, age_years) and least <= pd_mm <= most
