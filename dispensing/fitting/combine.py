"""Combines several fittings of the same wearer in the same frame into one, or reports that they disagree.

It must never know about marks: it works on figures with their ±, whether they come from photos or by hand.

Derivation. Figures with independent errors are weighted by 1 / variance. What two photos share (the same known length
and bend of the same frame, the same eye) does not get better with repetition, so its part of the variance is kept apart
and added at the end. Posture and camera belong to one photo and are not combined. Figures that disagree scatter more
than their ± says, and so does their mean: its variance grows by the same ratio (R. T. Birge, Phys. Rev. 40, 1932).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from dispensing.fitting.chain import COVERAGE_FACTOR
from dispensing.fitting.documents import EYES, EyeFitting, Figure, Fitting
from dispensing.fitting.inputs import EYE, FACE_FORM, RIM, SCALE

DISAGREE_SD = 3.0
"""Two figures disagree when they differ by more than three standard deviations of their difference, which happens by
chance to one pair in 370."""

SHARED = (SCALE, FACE_FORM, EYE, RIM)

EYE_FIGURES = ("pd_mm", "near_pd_mm", "height_mm", "a_mm", "b_mm", "b_along_lens_mm", "vertex_mm")
PAIR_FIGURES = ("dbl_mm", "pantoscopic_deg", "binocular_pd_mm")


@dataclass(frozen=True)
class Combined:
    """``fitting``: the best estimate of all. ``disagreements``: in words, the figures that cannot all be right."""

    fitting: Fitting
    disagreements: tuple[str, ...]


@dataclass(frozen=True)
class _Estimate:
    value: float
    own_variance: float
    shared_variance: float


def combine(fittings: Sequence[Fitting]) -> Combined:
    """One fitting out of several, each figure weighted by its certainty; if there is only one, its figures."""
    disagreements: list[str] = []

    def joined(name: str) -> Figure | None:
        estimates = [estimate for fitting in fittings if (estimate := _estimate(fitting, name)) is not None]
        told = list(_disagreements(name, estimates))
        disagreements.extend(told)
        return _weighted(estimates, scattered=bool(told)) if estimates else None

    eyes: dict[str, Any] = {}
    for eye in EYES:
        figures: dict[str, Any] = {figure: joined(f"{eye}.{figure}") for figure in EYE_FIGURES}
        eyes[eye] = EyeFitting(**figures)
    pair: dict[str, Any] = {figure: joined(figure) for figure in PAIR_FIGURES}
    reasons = (*dict.fromkeys(reason for fitting in fittings for reason in fitting.retake), *disagreements)
    return Combined(Fitting(**eyes, **pair, retake=reasons), tuple(disagreements))


def disagree(first: Figure, second: Figure) -> bool:
    """Whether two figures of the same thing (a photo's and a hand reading, say) cannot both be right."""
    spread = math.hypot(first.plus_minus, second.plus_minus) / COVERAGE_FACTOR
    return abs(first.value - second.value) > DISAGREE_SD * spread


def _estimate(fitting: Fitting, name: str) -> _Estimate | None:
    eye, _, figure = name.rpartition(".")
    holder = getattr(fitting, eye) if eye else fitting
    found: Figure | None = getattr(holder, figure)
    if found is None:
        return None
    variance = (found.plus_minus / COVERAGE_FACTOR) ** 2
    shares = fitting.shares.get(name) or fitting.shares.get(figure) or {}
    shared = variance * sum(shares.get(source, 0.0) for source in SHARED)
    return _Estimate(found.value, variance - shared, shared)


def _weighted(estimates: Sequence[_Estimate], *, scattered: bool) -> Figure:
    exact = [estimate for estimate in estimates if estimate.own_variance <= 0]
    used = exact or estimates
    weights = [1.0 if exact else 1 / estimate.own_variance for estimate in used]
    value = sum(weight * estimate.value for weight, estimate in zip(weights, used)) / sum(weights)
    own = 0.0 if exact else 1 / sum(weights)
    if scattered and len(used) > 1:
        scatter = sum(weight * (estimate.value - value) ** 2 for weight, estimate in zip(weights, used))
        own = max(own, scatter / sum(weights) / (len(used) - 1))
    shared = max(estimate.shared_variance for estimate in used)
    return Figure(value=value, plus_minus=COVERAGE_FACTOR * math.sqrt(own + shared))


def _disagreements(name: str, estimates: Sequence[_Estimate]) -> Iterable[str]:
    if len(estimates) < 2:
        return
    lowest, highest = min(estimates, key=lambda one: one.value), max(estimates, key=lambda one: one.value)
    spread = math.sqrt(lowest.own_variance + highest.own_variance)
    if highest.value - lowest.value > DISAGREE_SD * spread:
        unit = "°" if name.endswith("_deg") else "mm"
        words = name.removesuffix("_deg").removesuffix("_mm").replace(".", " ").replace("_", " ").replace("pd", "PD")
        yield (
            f"{words}: {lowest.value:.1f} and {highest.value:.1f} {unit} disagree, more than their ± allows; "
            "look at the marks of both photos or take a third"
        )
