"""Which figures are unlikely, and which single mark, if wrong, would best explain them.

It reads propagated figures and bands and must never know how a figure is computed.

Derivation. Let r be the figures less the middle of their bands, with covariance V: how much people and frames differ,
plus what the assumed spreads contribute. If one mark alone is wrong by an unknown shift δ (two numbers), r grows by G ·
δ, G being the derivatives of the figures by that mark. The best δ is (Gᵀ V⁻¹ G)⁻¹ Gᵀ V⁻¹ r and it lowers rᵀ V⁻¹ r by (G
δ)ᵀ V⁻¹ r. The mark that lowers it most is the one to look at first. This is how surveyors search for a single outlier
(W. Baarda, A testing procedure for use in geodetic networks, 1968).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.bands import Band, bands
from dispensing.fitting.chain import COVERAGE_FACTOR, Propagated
from dispensing.fitting.documents import EYES, Eye, Unlikely
from dispensing.fitting.inputs import MARKS, SCALE
from dispensing.fitting.mistakes import mark_words
from dispensing.fitting.retake import TO_CHECK, Reason
from dispensing.trade import Limits

GIVEN = {
    "front.scale.a_mm": "the given A",
    "front.scale.dbl_mm": "the given DBL",
    "front.scale.length_mm": "the known length of the front photo",
    "side.scale.length_mm": "the known length of the side photo",
}
TURN = "front.head_turn_deg"
NEARLY_AS_GOOD = 0.99
"""Suspects that bring at least this share of the best relief explain the figures equally well; the one that needs the
smallest shift for its usual error comes first."""

LARGEST_SD = 1e6
"""In the unit of the figure; with a doubt this large the figure says nothing."""

SMALLEST_SPREAD = 0.1
"""For anything taken as exact, in its own unit."""


@dataclass(frozen=True)
class Suspect:
    """One mark (or known length) that may be wrong: how it explains the figures, and the shift it would need."""

    name: str
    relief: float
    shift: float
    removed: FloatArray

    @property
    def unit(self) -> str:
        """With its space, as written after a number."""
        if self.name == TURN:
            return "°"
        return " mm" if self.name in GIVEN else " px"

    def words(self) -> str:
        if self.name == TURN:
            return "how the head was turned"
        return GIVEN.get(self.name) or f"the {mark_words(self.name)}"


@dataclass(frozen=True)
class _Doubted:
    """The figures that have a band, with their derivatives: ``excess`` is r, ``slopes`` holds every input's G."""

    bands: tuple[Band, ...]
    values: FloatArray
    sds: FloatArray
    slopes: FloatArray

    def excess(self) -> FloatArray:
        excess: FloatArray = self.values - np.array([band.middle() for band in self.bands])
        return excess


def unlikely_figures(propagated: Propagated, limits: Limits, age_years: int | None = None) -> tuple[Unlikely, ...]:
    """Every figure outside its usual band, with the mark to look at first where one mark explains it."""
    doubted = _doubted(propagated, limits, age_years)
    outside = [index for index in range(len(doubted.bands)) if _is_outside(doubted, index)]
    if not outside:
        return ()
    suspects = _suspects(propagated, doubted)
    return tuple(_report(doubted, index, suspects) for index in outside)


def impossible_figures(propagated: Propagated, limits: Limits, age_years: int | None = None) -> Iterator[Reason]:
    """A reason to check the marks, for every figure that no face of this age, nor any frame, could have."""
    doubted = _doubted(propagated, limits, age_years)
    for band, value, sd in zip(doubted.bands, doubted.values, doubted.sds, strict=True):
        margin = COVERAGE_FACTOR * sd if band.allows_plus_minus else 0.0
        if not band.possible[0] - margin <= value <= band.possible[1] + margin:
            yield Reason(
                TO_CHECK,
                f"{band.words} comes out as {value:.1f} {band.unit}; possible is {band.possible[0]:g} to "
                f"{band.possible[1]:g} {band.unit}",
            )


def _doubted(propagated: Propagated, limits: Limits, age_years: int | None) -> _Doubted:
    place = {name: index for index, name in enumerate(propagated.figures)}
    known = [
        band
        for band in bands(limits, age_years)
        if band.figure in place and _says_something(propagated, place[band.figure])
    ]
    rows = [place[band.figure] for band in known]
    return _Doubted(tuple(known), propagated.values[rows], propagated.sd[rows], propagated.slopes[rows])


def _says_something(propagated: Propagated, row: int) -> bool:
    """Whether the figure is there and its doubt is within reason."""
    return bool(np.isfinite(propagated.values[row]) and propagated.sd[row] < LARGEST_SD)


def _is_outside(doubted: _Doubted, index: int) -> bool:
    band, value = doubted.bands[index], doubted.values[index]
    margin = COVERAGE_FACTOR * doubted.sds[index] if band.allows_plus_minus else 0.0
    return not band.usual[0] - margin <= value <= band.usual[1] + margin


def _suspects(propagated: Propagated, doubted: _Doubted) -> list[Suspect]:
    spreads = np.array([one.sd for one in propagated.inputs])
    noise = doubted.slopes * spreads
    covariance = np.diag([band.sd() ** 2 for band in doubted.bands]) + noise @ noise.T
    weighted = np.linalg.solve(covariance, np.column_stack([doubted.excess(), doubted.slopes]))
    candidates = _candidates(propagated)
    # All candidates in one stack of (figures × 2): a given length has one number, so its second column is empty.
    pairs = np.array([columns if len(columns) == 2 else [columns[0], -1] for columns in candidates.values()])
    padded = np.column_stack([doubted.slopes, np.zeros(len(doubted.bands))])
    slopes = padded[:, pairs].transpose(1, 0, 2)
    weighted_slopes = np.column_stack([weighted[:, 1:], np.zeros(len(doubted.bands))])[:, pairs].transpose(1, 0, 2)
    pulls = slopes.transpose(0, 2, 1) @ weighted[:, :1]
    shifts = np.linalg.pinv(slopes.transpose(0, 2, 1) @ weighted_slopes, hermitian=True) @ pulls
    reliefs = np.sum(pulls * shifts, axis=(1, 2)).tolist()
    sizes = np.linalg.norm(shifts, axis=(1, 2)).tolist()
    removed = (slopes @ shifts)[:, :, 0]
    spread = [max(float(spreads[columns[0]]), SMALLEST_SPREAD) for columns in candidates.values()]
    found = [Suspect(*row) for row in zip(candidates, reliefs, sizes, removed, strict=True)]
    likely = dict(zip(candidates, np.array(sizes) / spread, strict=True))
    equal = NEARLY_AS_GOOD * max(reliefs)
    best = sorted((one for one in found if one.relief >= equal), key=lambda one: float(likely[one.name]))
    return best + sorted((one for one in found if one.relief < equal), key=lambda one: -one.relief)


def _candidates(propagated: Propagated) -> dict[str, list[int]]:
    """The columns of each mark (x and y), of each given length and of the head's turn."""
    candidates: dict[str, list[int]] = {}
    for index, one in enumerate(propagated.inputs):
        if not math.isnan(one.value) and one.source == MARKS:
            candidates.setdefault(one.name.rpartition(".")[0], []).append(index)
        elif not math.isnan(one.value) and (one.source == SCALE or one.name == TURN):
            candidates[one.name] = [index]
    return candidates


def _report(doubted: _Doubted, index: int, suspects: list[Suspect]) -> Unlikely:
    band, value = doubted.bands[index], float(doubted.values[index])
    limit = band.usual[0] if value < band.middle() else band.usual[1]
    # A suspect explains the figure if undoing its shift removes most of what lies beyond the band.
    first = next(
        (one for one in suspects if one.removed[index] / (value - limit) >= 0.5),
        None,
    )
    eye, _, figure = band.figure.rpartition(".")
    says = f"{band.words} is {value:.1f} {band.unit}; usual is {band.usual[0]:g} to {band.usual[1]:g} {band.unit}"
    advice = "no single mark explains it; take the photo again"
    if first is not None:
        advice = f"look first at {first.words()}: an error of {first.shift:.1f}{first.unit} there would explain it"
    return Unlikely(
        figure=figure,
        eye=_eye(eye),
        found=value,
        usual=band.usual,
        look_at=None if first is None else first.name,
        error_px=first.shift if first is not None and first.unit == " px" else None,
        message=f"{says}; {advice}",
        says=says,
        advice=advice,
    )


def _eye(name: str) -> Eye | None:
    return next((eye for eye in EYES if eye == name), None)
