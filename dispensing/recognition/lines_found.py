"""Where the lines of print are on a page: how it is turned, and where each would be were the page flat and straight.

Boxes are four corners each, from the line's own top left, clockwise; px.
"""

from __future__ import annotations

from typing import Any

import numpy as np

Quads = np.ndarray[Any, np.dtype[np.float32]]
"""n by 4 by 2."""

LONG = 2.5
"""How many times as long as high a line must be for its direction to count."""
STEEPEST = 0.45
ASKEW = 0.09
"""Radians, 5°: a line that leans this much more than the page was not printed with it."""
MARGIN_BEFORE, MARGIN_AFTER = 0.22, 0.12
"""Of the height, added before and after each line: what finds lines likes to cut off a minus sign."""


def sizes(quads: Quads) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Lengths of the top edges and of the left edges."""
    return (
        np.linalg.norm(quads[:, 1] - quads[:, 0], axis=1),
        np.linalg.norm(quads[:, 3] - quads[:, 0], axis=1),
    )


def is_on_its_side(quads: Quads) -> bool:
    """Whether most of the print runs up or down the picture, counted by its length."""
    width, height = sizes(quads)
    upright, lying = width[height > width].sum(), width[width >= height].sum()
    return bool(height[height > width].sum() + upright > lying + height[width >= height].sum())


def upside_down(quads: Quads, width: int, height: int) -> Quads:
    """The same lines on the page turned by 180°; ``width``, ``height``: of the page."""
    turned: Quads = np.array([width, height], np.float32) - quads[:, (2, 3, 0, 1)]
    return turned


def with_margins(quads: Quads) -> Quads:
    """Each line a little longer at both ends."""
    _, height = sizes(quads)
    along = quads[:, 1] - quads[:, 0]
    along = along / np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1.0) * height[:, None]
    wider = quads.copy()
    wider[:, (0, 3)] -= MARGIN_BEFORE * along[:, None]
    wider[:, (1, 2)] += MARGIN_AFTER * along[:, None]
    return wider


class Flattened:
    """Where points of a page would be were it flat: the slope of its lines, fitted over the page, taken out.

    A turned or tilted page has lines whose slope changes evenly from edge to edge; columns follow at a right angle.
    """

    def __init__(self, quads: Quads) -> None:
        width, height = sizes(quads)
        long = width > LONG * height
        self._across = self._fit(quads[long], width[long], along=(0, 1), axes=(0, 1))
        self._down = -self._across if long.sum() < 3 else self._columns(quads[long], width[long])

    def _fit(
        self, quads: Quads, weight: np.ndarray[Any, Any], along: tuple[int, int], axes: tuple[int, int]
    ) -> np.ndarray[Any, Any]:
        """Coefficients of slope = a + b·x + c·y by weighted least squares, without the worst quarter."""
        if len(quads) < 3:
            return np.zeros(3)
        edge = quads[:, along[1]] - quads[:, along[0]] + quads[:, 2] - quads[:, 3]
        run, rise = edge[:, axes[0]], edge[:, axes[1]]
        slope = np.clip(rise / np.where(np.abs(run) < 1.0, 1.0, run), -STEEPEST, STEEPEST)
        off = np.abs(slope - np.median(slope))
        kept = off <= max(float(np.quantile(off, 0.75)), 0.01)
        centres = quads.mean(axis=1)
        rows = np.column_stack([np.ones(kept.sum()), centres[kept] / 1000.0])
        root = np.sqrt(weight[kept])[:, None]
        if kept.sum() < 8:
            rows = rows[:, :1]
        solved = np.linalg.lstsq(rows * root, slope[kept] * root[:, 0], rcond=None)[0]
        return np.concatenate([solved, np.zeros(3 - len(solved))])

    def _columns(self, quads: Quads, weight: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
        """Columns are taken to stand at a right angle to the lines, as on a page that is turned and not folded."""
        return np.array([-self._across[0], 0.0, 0.0])

    def askew(self, quads: Quads) -> list[bool]:
        """Of each line, whether it runs another way than the print around it, as the words of a stamp do."""
        edge = quads[:, 1] - quads[:, 0] + quads[:, 2] - quads[:, 3]
        centres = np.column_stack([np.ones(len(quads)), quads.mean(axis=1) / 1000.0])
        off = np.abs(np.arctan2(edge[:, 1], edge[:, 0]) - np.arctan(centres @ self._across))
        width, height = sizes(quads)
        leans: list[bool] = ((off > ASKEW) & (width > LONG * height)).tolist()
        return leans

    def point(self, x: float, y: float) -> tuple[float, float]:
        a, b, c = (float(value) for value in self._across)
        flat_y = y - (a * x + b * x * x / 2000.0 + c * x * y / 1000.0)
        return x - float(self._down[0]) * y, flat_y
