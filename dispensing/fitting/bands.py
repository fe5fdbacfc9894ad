"""The bands in which a wearer's figures from photos usually lie, and how closely the two sides agree.

The bands are made from the limits in force and the trade's facts, with one small class. This module must never know
about marks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from dispensing.trade import Limits, figure
from dispensing.trade.position_of_wear import usual_tilt_deg, usual_vertex_mm
from dispensing.trade.pupil_distances import PdBand, of_one_eye, possible_pd, usual_pd

PHOTO = "photo-figures"
EYES = ("right", "left")
Ends = tuple[float, float]


@dataclass(frozen=True)
class Band:
    """``usual``: outside it a figure is unlikely. ``possible``: outside it the photo must not be used.

    ``allows_plus_minus``: for a difference, or a figure whose ± is as wide as the band, which only counts as outside
    when its own ± cannot explain it.
    """

    figure: str
    words: str
    unit: str
    usual: Ends
    possible: Ends
    allows_plus_minus: bool = False

    def middle(self) -> float:
        return sum(self.usual) / 2

    def sd(self) -> float:
        """One standard deviation between people: the usual band is taken to extend two either side."""
        return (self.usual[1] - self.usual[0]) / 4


def bands(limits: Limits, age_years: int | None = None) -> tuple[Band, ...]:
    """Every band, those of the face first; of an adult if the age is not known."""
    return (*_pupils(limits, age_years), *_boxes(limits), *_wear(limits), *_comparisons(limits))


def _pupils(limits: Limits, age_years: int | None) -> Iterator[Band]:
    usual, possible = usual_pd(limits, age_years), possible_pd(limits, _or_the_youngest(age_years))
    yield Band("binocular_pd_mm", "binocular PD", "mm", _ends(usual), _ends(possible))
    one_usual, one_possible = _ends(of_one_eye(usual, limits)), _ends(of_one_eye(possible, limits))
    for eye in EYES:
        yield Band(f"{eye}.pd_mm", f"{eye} PD", "mm", one_usual, one_possible)
    above = (figure("fitting-height", "above_middle_least_mm"), figure("fitting-height", "above_middle_most_mm"))
    off = _either_way(figure("fitting-height", "off_middle_possible_mm"))
    for eye in EYES:
        yield Band(f"{eye}.above_half_b_mm", f"{eye} height above half of B", "mm", above, off, allows_plus_minus=True)


def _or_the_youngest(age_years: int | None) -> int:
    """A face of unknown age may be a baby's: its PD is unlikely, but no reason to take the photo again."""
    return 0 if age_years is None else age_years


def _ends(band: PdBand) -> Ends:
    return band.low, band.high


def _either_way(size: float) -> Ends:
    return -size, size


def _boxes(limits: Limits) -> Iterator[Band]:
    """A, B and DBL as frames usually have them, and as any mark can still make them."""

    def band(name: str, size: str, words: str) -> Band:
        usual = (limits.of("box-sane", f"{size}_least_mm"), limits.of("box-sane", f"{size}_most_mm"))
        return Band(name, words, "mm", usual, (figure(PHOTO, f"{size}_least_mm"), figure(PHOTO, f"{size}_most_mm")))

    for size in ("a", "b"):
        yield from (band(f"{eye}.{size}_mm", size, f"{eye} {size.upper()}") for eye in EYES)
    yield band("dbl_mm", "dbl", "DBL")


def _wear(limits: Limits) -> Iterator[Band]:
    def hard(rule: str, unit: str) -> Ends:
        return limits.of(rule, f"least_{unit}"), limits.of(rule, f"most_{unit}")

    vertex, tilt = usual_vertex_mm(limits), usual_tilt_deg(limits)
    yield Band("vertex_mm", "vertex distance", "mm", vertex, hard("vertex-band", "mm"))
    yield Band("pantoscopic_deg", "pantoscopic angle", "°", tilt, hard("pantoscopic-band", "deg"))


def _comparisons(limits: Limits) -> Iterator[Band]:
    """Differences between the two sides, and from what was given; photos can show them only to within their own ±."""

    def band(name: str, words: str, usual_mm: float, possible_mm: float) -> Band:
        return Band(name, words, "mm", _either_way(usual_mm), _either_way(possible_mm), allows_plus_minus=True)

    rule = "pd-asymmetry"
    uneven, repeat = limits.of(rule, "difference_mm"), limits.of(rule, "repeat_mm")
    yield band("pd_difference_mm", "right PD less left PD", uneven, repeat)
    alike, most = figure(PHOTO, "apart_mm"), figure(PHOTO, "apart_possible_mm")
    level = limits.of("heights-differ", "difference_mm")
    yield band("pupils_difference_mm", "right pupil above left pupil", level, most)
    yield band("a_difference_mm", "right box wider than left box", alike, most)
    yield band("b_difference_mm", "right box deeper than left box", alike, most)
    for eye in EYES:
        yield band(f"{eye}.a_excess_mm", f"{eye} box wider than the given A", alike, most)
    yield band("dbl_excess_mm", "bridge wider than the given DBL", alike, most)
