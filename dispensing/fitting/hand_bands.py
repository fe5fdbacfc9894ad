"""Limits for figures taken by hand: what is possible, beyond which a figure is a slip, and what is usual at an age.

This module must never know about forms or frames, and holds no figures of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

from dispensing.trade import Limits, figure
from dispensing.trade.position_of_wear import dress_face_form_deg, usual_tilt_deg, usual_vertex_mm
from dispensing.trade.pupil_distances import PdBand, near_of_one_eye, of_one_eye, usual_pd

POSSIBLE = "typed-fitting"


@dataclass(frozen=True)
class HandBand:
    """``possible``: outside it the figure is a slip and is not accepted."""

    words: str
    unit: str
    possible: tuple[float, float]


def _band(words: str, name: str, unit: str) -> HandBand:
    sign = {"mm": "mm", "deg": "°"}[unit]
    return HandBand(words, sign, (figure(POSSIBLE, f"{name}_least_{unit}"), figure(POSSIBLE, f"{name}_most_{unit}")))


HAND_BANDS: dict[str, HandBand] = {
    "pd_mm": _band("monocular PD", "pd", "mm"),
    "near_pd_mm": _band("near PD", "near_pd", "mm"),
    "height_mm": _band("fitting height", "height", "mm"),
    "vertex_mm": _band("vertex distance", "vertex", "mm"),
    "binocular_pd_mm": _band("binocular PD", "binocular_pd", "mm"),
    "pantoscopic_deg": _band("pantoscopic tilt", "pantoscopic", "deg"),
    "face_form_deg": _band("face-form angle", "face_form", "deg"),
}


@dataclass(frozen=True)
class Usual:
    """Outside this a person is asked. ``whose``: the age group, as worded after the figure's name; mostly empty."""

    low: float
    high: float
    whose: str = ""


def usual(quantity: str, limits: Limits, age_years: int | None) -> Usual:
    """The usual range of a figure, mm or degrees, by the limits in force."""
    both = usual_pd(limits, age_years)
    pds = {"binocular_pd_mm": both, "pd_mm": of_one_eye(both, limits), "near_pd_mm": near_of_one_eye(both, limits)}
    if quantity in pds:
        return _of_an_age(pds[quantity])
    if quantity == "height_mm":
        return Usual(figure("fitting-height", "usual_least_mm"), figure("fitting-height", "usual_most_mm"))
    if quantity == "vertex_mm":
        return Usual(*usual_vertex_mm(limits))
    return Usual(*(usual_tilt_deg(limits) if quantity == "pantoscopic_deg" else dress_face_form_deg(limits)))


def _of_an_age(band: PdBand) -> Usual:
    return Usual(band.low, band.high, band.whose)
