"""``measure``: the door of this package. Marks of one or two photos in, figures with their ± out.

It puts the parts together and must never do geometry itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from dispensing.fitting.chain import COVERAGE_FACTOR, Propagated, propagate
from dispensing.fitting.documents import EyeFitting, Figure, Fitting, FittingPoints
from dispensing.fitting.inputs import uncertain_inputs

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
EYE_FIGURES = ("pd_mm", "near_pd_mm", "height_mm", "a_mm", "b_mm")


def measure(points: FittingPoints) -> Fitting:
    """What the marks on the photos measure, every figure with its ± (95 %); null where the marks do not tell."""
    propagated = propagate(points, uncertain_inputs(points))
    figures = _stated(propagated)
    pair: dict[str, Any] = {name: figures.get(name) for name in PAIR_FIGURES}
    return Fitting(
        right=_eye("right", figures),
        left=_eye("left", figures),
        **pair,
    )


def _stated(propagated: Propagated) -> dict[str, Figure]:
    stated = zip(propagated.figures, propagated.values.tolist(), propagated.sd().tolist(), strict=True)
    return {
        name: Figure(value=value, plus_minus=COVERAGE_FACTOR * sd)
        for name, value, sd in stated
        if np.isfinite(value) and np.isfinite(sd)
    }


def _eye(eye: str, figures: Mapping[str, Figure]) -> EyeFitting:
    own: dict[str, Any] = {name: figures.get(f"{eye}.{name}") for name in EYE_FIGURES}
    return EyeFitting(vertex_mm=figures.get("vertex_mm"), **own)
