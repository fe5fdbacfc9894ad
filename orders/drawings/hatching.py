"""Hatches a closed outline with slanting lines, worked out here so that every SVG viewer shows the same thing."""

from __future__ import annotations

import math

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.pictures.picture import Picture

SPACING_MM = 0.9
SLANT_DEG = 45.0


def hatch(picture: Picture, outline: FloatArray, kind: str = "hatch") -> None:
    """Fill a closed outline, shape (n, 2) in mm, with parallel lines."""
    for start, end in hatch_lines(outline):
        picture.line((float(start[0]), float(start[1])), (float(end[0]), float(end[1])), kind)


def hatch_lines(outline: FloatArray) -> list[tuple[FloatArray, FloatArray]]:
    """The pieces of the parallel lines inside the outline (even-odd rule), as pairs of end points in mm."""
    slant = math.radians(SLANT_DEG)
    turn = np.array([[math.cos(slant), math.sin(slant)], [-math.sin(slant), math.cos(slant)]])
    turned = outline @ turn.T
    after = np.roll(turned, -1, axis=0)
    low, high = turned[:, 1].min(), turned[:, 1].max()
    levels = np.arange(math.ceil(low / SPACING_MM), math.floor(high / SPACING_MM) + 1) * SPACING_MM
    lines = []
    for level in levels:
        crossed = (turned[:, 1] <= level) != (after[:, 1] <= level)
        start, way = turned[crossed], after[crossed] - turned[crossed]
        across = np.sort(start[:, 0] + (level - start[:, 1]) / way[:, 1] * way[:, 0])
        for left, right in zip(across[::2], across[1::2], strict=False):
            lines.append((np.array([left, level]) @ turn, np.array([right, level]) @ turn))
    return lines
