"""Which figures from photos are kept as a fitting, and the near PD, worked out again through the prescribed lens.

It must never know about rows, pages or how a figure was measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from dispensing.fitting.documents import EYES, EyeFitting, Figure
from dispensing.fitting.several import SheetMeasured
from dispensing.optics.centration import near_pd
from dispensing.optics.errors import OpticsError

EYE_FIGURES = ("pd_mm", "height_mm", "vertex_mm")
PAIR_FIGURES = ("binocular_pd_mm", "pantoscopic_deg")
NEAR_PD = "near_pd_mm"


@dataclass(frozen=True)
class KeptFigure:
    """One figure as kept: not rounded, with its ± (95 %). ``method``: ``photo`` or ``calculated``.

    ``readings``: what each posture in which it was read makes of it, where there was more than one.
    """

    quantity: str
    eye: str
    figure: Figure
    method: str
    readings: tuple[float, ...] = ()


@dataclass(frozen=True)
class NearPD:
    """A near PD that was worked out, mm, with its ± (95 %) if that of the far PD is known."""

    value: float
    plus_minus: float | None


def kept_figures(sheet: SheetMeasured, near_distance_mm: float, powers: Mapping[str, float]) -> tuple[KeptFigure, ...]:
    """Everything measured that a fitting keeps. ``powers``: D along 180 for each eye, where prescribed."""
    return tuple(_kept(sheet, near_distance_mm, powers))


def _kept(sheet: SheetMeasured, near_distance_mm: float, powers: Mapping[str, float]) -> Iterator[KeptFigure]:
    measured = sheet.fitting
    for eye in EYES:
        figures = measured.eye(eye)
        for name in EYE_FIGURES:
            source = _as_labs_measure(figures, name)
            if (figure := getattr(figures, source)) is not None:
                yield KeptFigure(name, eye, figure, "photo", sheet.readings.get(f"{eye}.{source}", ()))
        far, vertex = figures.pd_mm, figures.vertex_mm
        if far is not None:
            near = worked_out_near_pd(
                far.value, far.plus_minus, near_distance_mm, vertex.value if vertex else None, powers.get(eye, 0.0)
            )
            if near is not None:
                doubt = Figure(value=near.value, plus_minus=near.plus_minus or 0.0)
                yield KeptFigure(NEAR_PD, eye, doubt, "calculated")
    for name in PAIR_FIGURES:
        if (figure := getattr(measured, name)) is not None:
            yield KeptFigure(name, "both", figure, "photo", sheet.readings.get(name, ()))


def _as_labs_measure(figures: EyeFitting, name: str) -> str:
    """The figure that is kept: a height as it runs along the tilted lens, where the tilt is known."""
    return "height_in_plane_mm" if name == "height_mm" and figures.height_in_plane_mm is not None else name


def worked_out_near_pd(
    far_mm: float, plus_minus: float | None, near_distance_mm: float, vertex_mm: float | None, power_d: float
) -> NearPD | None:
    """The near PD that belongs to a far PD in mm with its ±; None where the optics give no answer.

    ``near_distance_mm``: from the spectacle plane. ``power_d``: along 180. The near PD is the far one times a factor,
    and so is its ±; the formula itself adds next to nothing.
    """
    try:
        value = near_pd(far_mm, near_distance_mm, vertex_mm, power_d)
    except OpticsError:
        return None
    return NearPD(value, None if plus_minus is None else plus_minus * value / far_mm)
