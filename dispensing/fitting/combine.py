"""Combines several fittings of the same wearer in the same frame into one, or reports that they disagree.

It must never know about marks: it works on figures with their ±, whether they come from photos or by hand.

Photos of one posture share how the head was turned and the chin was held, so that part gets no better with more of
them; a patient who looked away and back holds the head anew. Photos of each posture are combined first.

Derivation. Figures with independent errors are weighted by 1 / variance. What two photos share (the same known length
and bend of the same frame, the same eye) does not get better with repetition, so its part of the variance is kept apart
and added at the end. Posture and camera belong to one photo and are not combined. Figures that disagree scatter more
than their ± says, and so does their mean: its variance grows by the same ratio (R. T. Birge, Phys. Rev. 40, 1932).
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from dispensing.fitting.chain import COVERAGE_FACTOR
from dispensing.fitting.documents import EYES, EyeFitting, Figure, Fitting
from dispensing.fitting.inputs import CHIN, EYE, FACE_FORM, FRAME, GROOVE, HEAD_TURN, RIM, SCALE, WORN_LENS

DISAGREE_SD = 3.0
"""Two figures disagree when they differ by more than three standard deviations of their difference, which happens by
chance to one pair in 370."""

SHARED = (SCALE, FACE_FORM, EYE, RIM, FRAME, GROOVE, WORN_LENS)
POSTURE = (HEAD_TURN, CHIN)
"""Shared by photos of one posture."""

EYE_FIGURES = ("pd_mm", "near_pd_mm", "height_mm", "height_in_plane_mm", "a_mm", "b_mm", "b_along_lens_mm", "vertex_mm")
PAIR_FIGURES = ("dbl_mm", "pantoscopic_deg", "binocular_pd_mm")


@dataclass(frozen=True)
class Combined:
    """``fitting``: the best estimate of all. ``disagreements``: in words, the figures that cannot all be right.

    ``readings``: of each figure that was read in more than one posture, what every posture makes of it.
    """

    fitting: Fitting
    disagreements: tuple[str, ...]
    readings: Mapping[str, tuple[float, ...]] = field(default_factory=dict)


@dataclass(frozen=True)
class _Estimate:
    """``posture_variance``: the part of the own variance that comes from how the head was held."""

    value: float
    own_variance: float
    shared_variance: float
    posture_variance: float = 0.0
    posture: str | None = None
    whose: str = ""


def combine(fittings: Sequence[Fitting], postures: Sequence[str | None] = (), names: Sequence[str] = ()) -> Combined:
    """One fitting out of several, each figure weighted by its certainty; if there is only one, its figures.

    ``postures``: a word for each fitting; those with the same word share how the head was held. ``names``: what each
    is called where one disagrees with the others (``Photo 2``).
    """
    apart: list[_Apart] = []
    readings: dict[str, tuple[float, ...]] = {}
    words = postures or [None] * len(fittings)
    called = names or [f"Photo {number}" for number in range(1, len(fittings) + 1)]

    def joined(name: str) -> Figure | None:
        found = [_estimate(*one, name) for one in zip(fittings, words, called, strict=True)]
        estimates = [estimate for estimate in found if estimate is not None]
        if not estimates:
            return None
        told = list(_far_apart(name, estimates))
        apart.extend(told)
        anew = _by_posture(estimates)
        if len(anew) > 1:
            readings[name] = tuple(one.value for one in anew)
        return _weighted(anew, scattered=bool(told))

    eyes: dict[str, Any] = {}
    for eye in EYES:
        figures: dict[str, Any] = {figure: joined(f"{eye}.{figure}") for figure in EYE_FIGURES}
        eyes[eye] = EyeFitting(**figures)
    pair: dict[str, Any] = {figure: joined(figure) for figure in PAIR_FIGURES}
    disagreements = tuple(_in_words(apart, len(fittings)))
    reasons = (*dict.fromkeys(reason for fitting in fittings for reason in fitting.retake), *disagreements)
    return Combined(Fitting(**eyes, **pair, retake=reasons), disagreements, readings)


def disagree(first: Figure, second: Figure) -> bool:
    """Whether two figures of the same thing (a photo's and a hand reading, say) cannot both be right."""
    spread = math.hypot(first.plus_minus, second.plus_minus) / COVERAGE_FACTOR
    return abs(first.value - second.value) > DISAGREE_SD * spread


def _estimate(fitting: Fitting, posture: str | None, whose: str, name: str) -> _Estimate | None:
    eye, _, figure = name.rpartition(".")
    holder = getattr(fitting, eye) if eye else fitting
    found: Figure | None = getattr(holder, figure)
    if found is None:
        return None
    variance = (found.plus_minus / COVERAGE_FACTOR) ** 2
    shares = fitting.shares.get(name) or fitting.shares.get(figure) or {}
    shared = variance * sum(shares.get(source, 0.0) for source in SHARED)
    held = variance * sum(shares.get(source, 0.0) for source in POSTURE)
    return _Estimate(found.value, max(variance - shared, 0.0), shared, held, posture, whose)


def _by_posture(estimates: Sequence[_Estimate]) -> list[_Estimate]:
    """One estimate for each posture, in which what its photos share is kept whole."""
    groups: dict[object, list[_Estimate]] = {}
    for number, one in enumerate(estimates):
        groups.setdefault(number if one.posture is None else one.posture, []).append(one)
    return [_one_posture(group) if len(group) > 1 else group[0] for group in groups.values()]


def _one_posture(group: Sequence[_Estimate]) -> _Estimate:
    apart = [replace(one, own_variance=max(one.own_variance - one.posture_variance, 0.0)) for one in group]
    mean = _mean(apart)
    held = max(one.posture_variance for one in group)
    return replace(mean, own_variance=mean.own_variance + held, posture_variance=held)


def _weighted(estimates: Sequence[_Estimate], *, scattered: bool) -> Figure:
    mean = _mean(estimates, scattered=scattered)
    return Figure(value=mean.value, plus_minus=COVERAGE_FACTOR * math.sqrt(mean.own_variance + mean.shared_variance))


def _mean(estimates: Sequence[_Estimate], *, scattered: bool = False) -> _Estimate:
    exact = [estimate for estimate in estimates if estimate.own_variance <= 0]
    used = exact or estimates
    weights = [1.0 if exact else 1 / estimate.own_variance for estimate in used]
    value = sum(weight * estimate.value for weight, estimate in zip(weights, used)) / sum(weights)
    own = 0.0 if exact else 1 / sum(weights)
    if scattered and len(used) > 1:
        scatter = sum(weight * (estimate.value - value) ** 2 for weight, estimate in zip(weights, used))
        own = max(own, scatter / sum(weights) / (len(used) - 1))
    return _Estimate(value, own, max(estimate.shared_variance for estimate in used))


@dataclass(frozen=True)
class _Apart:
    """A figure of which ``odd`` says something else than ``others``, more than both their ± allow."""

    name: str
    odd: _Estimate
    others: Sequence[_Estimate]


def _far_apart(name: str, estimates: Sequence[_Estimate]) -> Iterable[_Apart]:
    if len(estimates) < 2:
        return
    lowest, highest = min(estimates, key=lambda one: one.value), max(estimates, key=lambda one: one.value)
    spread = math.sqrt(lowest.own_variance + highest.own_variance)
    if highest.value - lowest.value > DISAGREE_SD * spread:
        middle = statistics.median(one.value for one in estimates)
        odd = max((lowest, highest), key=lambda one: abs(one.value - middle))
        yield _Apart(name, odd, [one for one in estimates if one is not odd])


def _in_words(apart: Sequence[_Apart], of: int) -> Iterable[str]:
    """One sentence for each photo that disagrees; of two nobody can say which."""
    by_photo: dict[str, list[_Apart]] = {}
    for one in apart:
        by_photo.setdefault(one.odd.whose if of > 2 else "", []).append(one)
    for whose, found in by_photo.items():
        figures = ", ".join(_figure_in_words(one) for one in found)
        disagree_s = "disagree" if whose.startswith("Photos ") else "disagrees"
        who = f"{whose} {disagree_s} with the others" if whose else "the photos disagree"
        what = "its marks, or take it off" if whose else "the marks of both photos or take a third"
        yield f"{who}, more than their ± allows: {figures}; look at {what}"


def _figure_in_words(apart: _Apart) -> str:
    name = apart.name
    unit = "°" if name.endswith("_deg") else " mm"
    words = name.removesuffix("_deg").removesuffix("_mm").replace(".", " ").replace("_", " ").replace("pd", "PD")
    others = statistics.fmean(one.value for one in apart.others)
    return f"{words} {apart.odd.value:.1f} against {others:.1f}{unit}"
