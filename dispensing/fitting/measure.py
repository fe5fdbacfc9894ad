"""``measure``: marks of one or two photos go in, figures with their ± come out.

It puts the parts together and must never do geometry itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from dispensing.fitting.chain import COVERAGE_FACTOR, Propagated, propagate
from dispensing.fitting.documents import EyeFitting, Figure, Fitting, FittingPoints
from dispensing.fitting.inputs import uncertain_inputs
from dispensing.fitting.known_frame import fitted_to_the_frame
from dispensing.fitting.mistakes import front_mistakes, is_of_the_photo, side_mistakes
from dispensing.fitting.plausibility import impossible_figures, unlikely_figures
from dispensing.fitting.retake import (
    TAKE_AGAIN,
    TO_MARK,
    TURNED,
    Reason,
    as_told,
    large_doubts,
    missing_in,
    posture_reasons,
)
from dispensing.fitting.squint import TurnedEye, turned_eye
from dispensing.trade.limits import TRADE, Limits

PAIR_FIGURES = (
    "dbl_mm",
    "pantoscopic_deg",
    "camera_distance_mm",
    "head_turn_deg",
    "binocular_pd_mm",
    "roll_deg",
    "camera_above_eyes_mm",
    "camera_sideways_mm",
)
EYE_FIGURES = ("pd_mm", "near_pd_mm", "height_mm", "height_in_plane_mm", "a_mm", "b_mm", "b_along_lens_mm")
STATED = frozenset((*PAIR_FIGURES, *EYE_FIGURES, "vertex_mm"))


def measure(points: FittingPoints, limits: Limits = TRADE) -> Fitting:
    """What the marks on the photos measure, every figure with its ± (95 %); null where the marks do not give it.

    Bad marks are not an error: ``retake`` says in words what is wrong, and a photo with a mistake measures nothing.
    Which of it is only to be marked or checked, and what is merely worth knowing, is under ``extra``.
    ``limits``: those that decide whether a figure is unlikely; the practice's own where it has any.
    """
    mistakes, sound = _without_mistaken_photos(points)
    propagated = fitted_to_the_frame(propagate(sound, uncertain_inputs(sound)), sound)
    turned = turned_eye(propagated)
    figures = _stated(propagated, frozenset() if turned is None else turned.figures)
    pair: dict[str, Any] = {name: figures.get(name) for name in PAIR_FIGURES}
    return Fitting(
        right=_eye("right", figures),
        left=_eye("left", figures),
        unlikely=unlikely_figures(propagated, limits, points.age_years),
        shares=_shares(propagated, figures),
        **as_told((*mistakes, *_named(turned), *_reasons(propagated, points, sound, limits))),
        **pair,
    )


def _without_mistaken_photos(points: FittingPoints) -> tuple[tuple[Reason, ...], FittingPoints]:
    """The mistakes in words, and the points without any photo that has a mistake."""
    front = () if points.front is None else front_mistakes(points.front)
    side = () if points.side is None else side_mistakes(points.side)
    kept = {"front": None if front else points.front, "side": None if side else points.side}
    named = [f"front photo: {fault}" for fault in front] + [f"side photo: {fault}" for fault in side]
    reasons = tuple(Reason(TAKE_AGAIN if is_of_the_photo(fault) else TO_MARK, fault) for fault in named)
    return reasons, points.model_copy(update=kept) if named else points


def _reasons(propagated: Propagated, points: FittingPoints, sound: FittingPoints, limits: Limits) -> tuple[Reason, ...]:
    # Check for what is missing on the photos as given: a photo taken out for a mistake is not a missing photo.
    missing = missing_in(points) if sound is points else missing_in(sound) if _any_photo(sound) else ()
    return (
        *missing,
        *posture_reasons(propagated),
        *impossible_figures(propagated, limits, points.age_years),
        *large_doubts(propagated),
    )


def _any_photo(points: FittingPoints) -> bool:
    return points.front is not None or points.side is not None


def _shares(propagated: Propagated, figures: Mapping[str, Figure]) -> dict[str, dict[str, float]]:
    """For each stated figure the share of its variance that each source causes, largest first."""
    by_source = {source: part.tolist() for source, part in propagated.shares.items()}
    shares = {}
    for index, name in enumerate(propagated.figures):
        if name in figures and name.rpartition(".")[2] in STATED:
            parts = {source: part[index] for source, part in by_source.items() if part[index] > 0}
            shares[name] = dict(sorted(parts.items(), key=lambda item: -item[1]))
    return shares


def _named(turned: TurnedEye | None) -> tuple[Reason, ...]:
    return () if turned is None else (Reason(TURNED, turned.words()),)


def _stated(propagated: Propagated, withheld: frozenset[str]) -> dict[str, Figure]:
    stated = zip(propagated.figures, propagated.values.tolist(), propagated.sd.tolist(), strict=True)
    return {
        name: Figure(value=value, plus_minus=COVERAGE_FACTOR * sd)
        for name, value, sd in stated
        if np.isfinite(value) and np.isfinite(sd) and name not in withheld
    }


def _eye(eye: str, figures: Mapping[str, Figure]) -> EyeFitting:
    own: dict[str, Any] = {name: figures.get(f"{eye}.{name}") for name in EYE_FIGURES}
    return EyeFitting(vertex_mm=figures.get("vertex_mm"), **own)
