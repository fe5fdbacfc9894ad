"""The bands in which a figure of an adult usually lies, and how closely the two sides agree.

Data with one small class; it must never know about marks. Common practice, as taught in dispensing; PD limits after
N. A. Dodgson, SPIE 5291, 2004 (nearly all adults 45 to 80 mm, most 50 to 75 mm).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Band:
    """``usual``: outside it a figure is unlikely. ``possible``: outside it the photo is not to be used.

    ``allows_plus_minus``: a difference, or a figure whose ± is as wide as the band: it is only outside when its own ±
    cannot explain it.
    """

    figure: str
    words: str
    unit: str
    usual: tuple[float, float]
    possible: tuple[float, float]
    allows_plus_minus: bool = False

    def middle(self) -> float:
        return sum(self.usual) / 2

    def sd(self) -> float:
        """One standard deviation between people: the usual band is taken to hold two either side."""
        return (self.usual[1] - self.usual[0]) / 4


def _comparison(figure: str, words: str, usual_mm: float, possible_mm: float) -> Band:
    return Band(figure, words, "mm", (-usual_mm, usual_mm), (-possible_mm, possible_mm), allows_plus_minus=True)


BANDS = (
    Band("binocular_pd_mm", "binocular PD", "mm", (54.0, 74.0), (48.0, 80.0)),
    Band("right.pd_mm", "right PD", "mm", (26.0, 38.0), (23.0, 41.0)),
    Band("left.pd_mm", "left PD", "mm", (26.0, 38.0), (23.0, 41.0)),
    Band("right.above_half_b_mm", "right height above half of B", "mm", (0.0, 6.0), (-15.0, 15.0), True),
    Band("left.above_half_b_mm", "left height above half of B", "mm", (0.0, 6.0), (-15.0, 15.0), True),
    Band("right.a_mm", "right A", "mm", (38.0, 66.0), (30.0, 75.0)),
    Band("left.a_mm", "left A", "mm", (38.0, 66.0), (30.0, 75.0)),
    Band("right.b_mm", "right B", "mm", (22.0, 60.0), (15.0, 70.0)),
    Band("left.b_mm", "left B", "mm", (22.0, 60.0), (15.0, 70.0)),
    Band("dbl_mm", "DBL", "mm", (10.0, 26.0), (5.0, 35.0)),
    Band("vertex_mm", "vertex distance", "mm", (12.0, 15.0), (8.0, 18.0)),
    Band("pantoscopic_deg", "pantoscopic angle", "°", (7.0, 12.0), (0.0, 18.0)),
    _comparison("pd_difference_mm", "right PD less left PD", 2.0, 4.0),
    _comparison("pupils_difference_mm", "right pupil above left pupil", 1.0, 4.0),
    _comparison("a_difference_mm", "right box wider than left box", 1.0, 4.0),
    _comparison("b_difference_mm", "right box deeper than left box", 1.0, 4.0),
    _comparison("right.a_excess_mm", "right box wider than the given A", 1.0, 4.0),
    _comparison("left.a_excess_mm", "left box wider than the given A", 1.0, 4.0),
    _comparison("dbl_excess_mm", "bridge wider than the given DBL", 1.0, 4.0),
)
