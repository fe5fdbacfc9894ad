"""What figures taken by hand may be: bands of the possible and of the usual, as taught in dispensing.

Data only; it must never know about forms or frames. PD of adults after N. A. Dodgson, SPIE 5291, 2004; the rest is
common practice.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class HandBand:
    """``possible``: outside it the figure is a slip and is not taken. ``usual``: outside it a person is asked."""

    words: str
    unit: str
    possible: tuple[float, float]
    usual: tuple[float, float]


HAND_BANDS: dict[str, HandBand] = {
    "pd_mm": HandBand("monocular PD", "mm", (18.0, 42.0), (26.0, 38.0)),
    "near_pd_mm": HandBand("near PD", "mm", (16.0, 42.0), (24.0, 37.0)),
    "height_mm": HandBand("fitting height", "mm", (0.5, 70.0), (10.0, 32.0)),
    "vertex_mm": HandBand("vertex distance", "mm", (3.0, 30.0), (12.0, 15.0)),
    "binocular_pd_mm": HandBand("binocular PD", "mm", (40.0, 85.0), (54.0, 74.0)),
    "pantoscopic_deg": HandBand("pantoscopic tilt", "°", (-15.0, 30.0), (7.0, 12.0)),
    "face_form_deg": HandBand("face-form angle", "°", (-10.0, 35.0), (0.0, 10.0)),
}

CHILD_UNTIL_YEARS = 16
USUAL_OF_A_CHILD: dict[str, tuple[float, float]] = {
    "pd_mm": (20.0, 32.0),
    "near_pd_mm": (18.0, 31.0),
    "binocular_pd_mm": (40.0, 60.0),
}

USUAL_WRAP_DEG = (13.0, 23.0)
SUM_LIMIT_MM = 1.0
ASYMMETRY_USUAL_MM = 2.0
ASYMMETRY_LIMIT_MM = 4.0
HEIGHTS_DIFFER_USUAL_MM = 1.0
HEIGHTS_DIFFER_LIMIT_MM = 2.5
