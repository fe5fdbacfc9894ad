"""Where the frame is and how large, to a millimetre or two: the known A, B and DBL as one figure on the edges.

Upright and level edges are gathered along short lines, for a side of a box touches its lens only over a short length.
All places, sizes and leans within reach are tried at once; the figure that lies on most edges wins.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.documents import Eye
from dispensing.fitting.seeing.upright import PX_PER_MM, Upright, in_px

LINE_SHARE = 0.2
"""Over what part of B (or A) an edge is gathered."""

ALONG = (-0.22, 0.0, 0.22)
"""Where along a side its lens may touch the box, in parts of the side's length."""

ACROSS_MM = np.arange(-9.0, 9.01, 0.5)
DOWN_MM = np.arange(-4.0, 13.01, 0.75)
SIZES = np.arange(0.84, 1.181, 0.02)
EITHER_EDGE_MM = 1.0
SHOWN_OF_B = 0.988
"""What a usual tilt of 9° leaves of B to a camera straight ahead."""


@dataclass(frozen=True)
class FrameSizes:
    """As engraved or measured, mm. ``mount``: full_rim, grooved or drilled; None where nobody knows, as full_rim."""

    a_mm: float
    b_mm: float
    dbl_mm: float
    mount: str | None = None

    def bare(self, side: str) -> bool:
        """Whether the lens ends in the open at a side: what shows there is its own ground edge, no rim."""
        return self.mount == "drilled" or (self.mount == "grooved" and side == "bottom")


@dataclass(frozen=True)
class Whereabouts:
    """In mm of the upright picture: the middle of the bridge, the size against that told by the irises, the lean."""

    across: float
    down: float
    size: float
    lean_deg: float
    score: float


def _gathered(picture: Upright, frame: FrameSizes) -> tuple[FloatArray, FloatArray]:
    tall, wide = (max(3, round(LINE_SHARE * side * PX_PER_MM)) for side in (frame.b_mm, frame.a_mm))
    return cv2.blur(picture.upright, (1, tall)), cv2.blur(picture.level, (wide, 1))  # type: ignore[return-value]  # float in, float out


def _at(edges: FloatArray, x_mm: Any, y_mm: Any) -> FloatArray:
    """Edge strength at places in mm from the middle of the upright picture, the nearest pixel's; 0 outside it."""
    rows, columns = edges.shape
    x, y = (np.rint(in_px(place, axis)).astype(int) for axis, place in enumerate((x_mm, y_mm)))
    inside = (x >= 0) & (x < columns) & (y >= 0) & (y < rows)
    found: FloatArray = np.where(inside, edges[np.clip(y, 0, rows - 1), np.clip(x, 0, columns - 1)], 0.0)
    return found


def _best_along(edges: FloatArray, x_mm: Any, y_mm: Any, by: tuple[float, float]) -> FloatArray:
    """The strongest of the lines along a side: ``by`` is the side's length across and down, mm."""
    lines = [_at(edges, x_mm + by[0] * part, y_mm + by[1] * part) for part in ALONG]
    best: FloatArray = np.max(lines, axis=0)
    return best


def whereabouts(picture: Upright, frame: FrameSizes, lean_deg: float) -> Whereabouts:
    upright, level = _gathered(picture, frame)
    # At first either edge of a rim will do: which one is the lens's own, only all sides together tell.
    reach = 2 * round(EITHER_EDGE_MM * PX_PER_MM) + 1
    upright = np.asarray(cv2.dilate(upright, np.ones((1, reach))), np.float64)
    level = np.asarray(cv2.dilate(level, np.ones((reach, 1))), np.float64)
    down, across, size = np.meshgrid(DOWN_MM, ACROSS_MM, SIZES, indexing="ij")
    a, b, bridge = size * frame.a_mm, size * frame.b_mm * SHOWN_OF_B, size * frame.dbl_mm
    total: FloatArray = np.zeros_like(size)
    least: FloatArray = np.ones_like(size)
    for side in (-1, 1):
        centre = across + side * (bridge + a) / 2
        for x in (across + side * bridge / 2, across + side * (bridge / 2 + a)):
            found = _best_along(upright, x, down, (0.0, frame.b_mm))
            total, least = total + found, np.minimum(least, found)
        for y in (down - b / 2, down + b / 2):
            found = _best_along(level, centre, y, (frame.a_mm, 0.0))
            total, least = total + found, np.minimum(least, found)
    score = total + least
    place = np.unravel_index(int(np.argmax(score)), score.shape)
    return Whereabouts(float(across[place]), float(down[place]), float(size[place]), lean_deg, float(score[place]))


def places_of(frame: FrameSizes, fit: Whereabouts) -> dict[Eye, dict[str, tuple[float, float]]]:
    a, b, bridge = fit.size * frame.a_mm, fit.size * frame.b_mm * SHOWN_OF_B, fit.size * frame.dbl_mm
    found: dict[Eye, dict[str, tuple[float, float]]] = {}
    sides: tuple[tuple[Eye, int], ...] = (("right", -1), ("left", 1))
    for eye, side in sides:
        centre = fit.across + side * (bridge + a) / 2
        found[eye] = {
            "nasal": (fit.across + side * bridge / 2, fit.down),
            "temporal": (fit.across + side * (bridge / 2 + a), fit.down),
            "top": (centre, fit.down - b / 2),
            "bottom": (centre, fit.down + b / 2),
        }
    return found
