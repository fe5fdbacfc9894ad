"""The sides of a lens's box by its outline: which edges run along it there, and where exactly one of them touches.

The outline gives the shape near a side; moved in and out, it shows every edge of that shape. The one that is taken is
then found anew at each place along the side, and the side lies where a curve through these places is farthest out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.seeing.figure import Edge
from dispensing.fitting.seeing.outline import RIM_MM
from dispensing.fitting.seeing.upright import in_px

REACH_MM, STEP_MM = 4.2, 0.1
AROUND_MM = 3.4
MOST_EDGES = 4
NO_EDGE = -4.0
ODDS = (-5.0, 7.4, 3.2, -4.0)
"""Of an edge that is a lens's own, by a logistic regression on painted faces: alone, by how strong it is, by the other
edge of its rim, by another edge before it."""

BARE_MM, BARE_BEYOND_MM = 1.6, 0.2
"""A lens without a rim ends in a line, its ground edge: at most so wide, and that far beyond the middle of the line."""

DEEP_MM, LEAST_PLACES = 1.4, 5
NEAR_MM = 0.7
LEAST_PEAK = 0.06


Peak = tuple[float, float]


@dataclass(frozen=True)
class Along:
    """The outline near one side: how far along it and how far out (mm), ``axis`` 0 for a side that stands upright.

    ``rise``: places × steps, from -1 to 1: how much a rim begins (or ends) at that step outwards of the outline.
    """

    along: FloatArray
    out: FloatArray
    axis: int
    sign: float
    rise: FloatArray


def steps_mm() -> FloatArray:
    return np.arange(-REACH_MM - AROUND_MM, REACH_MM + AROUND_MM + 1e-6, STEP_MM)


def along_side(
    soft: npt.NDArray[np.float32], outline_mm: FloatArray, axis: int, sign: float, darker: bool, usual: float
) -> Along:
    """``outline_mm``: places × (x, y); ``sign``: 1 where outwards is right or down, -1 else."""
    out, along = sign * outline_mm[:, axis], outline_mm[:, 1 - axis]
    near = out > out.max() - DEEP_MM
    out, along = out[near], along[near]
    steps = steps_mm()
    across = sign * (out[:, np.newaxis] + steps)
    beside = np.repeat(along[:, np.newaxis], len(steps), axis=1)
    x, y = (across, beside) if axis == 0 else (beside, across)
    flat = cv2.remap(
        soft,
        in_px(x, 0).astype(np.float32),
        in_px(y, 1).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    slope = np.gradient(flat.astype(np.float64), STEP_MM, axis=1) * (-1.0 if darker else 1.0)
    return Along(along, out, axis, sign, slope / (np.abs(slope) + usual))


def edges_along(side: Along, bare: bool) -> list[Edge]:
    """The edges most worth, each by how far out a lens would reach that ended there (mm of the picture).

    ``bare``: the lens has no rim there.
    """
    mean, steps = side.rise.mean(axis=0), steps_mm()
    begins, ends = _peaks(mean, steps), _peaks(-mean, steps)
    origin = float(side.out.max())
    found = []
    for step, strong in begins:
        if abs(step) <= REACH_MM:
            beyond = _to_own_end(step, ends) if bare else 0.0
            found.append(Edge(side.sign * (origin + step), strong, _worth(step, strong, begins, ends), beyond))
    best = sorted(found, key=lambda one: -one.worth)[:MOST_EDGES]
    return best or [Edge(side.sign * origin, 0.0, NO_EDGE, 0.0)]


def _worth(step: float, strong: float, begins: list[Peak], ends: list[Peak]) -> float:
    """The logarithm of the odds that a lens ends at an edge, by the edges beside it alone."""
    beyond = max((other for at, other in ends if RIM_MM[0] <= at - step <= RIM_MM[1]), default=0.0)
    before = max((other for at, other in begins if RIM_MM[0] <= step - at <= RIM_MM[1]), default=0.0)
    constant, own, end, earlier = ODDS
    return constant + own * strong + end * min(beyond, strong) + earlier * min(before, strong)


def _to_own_end(step: float, ends: list[Peak]) -> float:
    """From where the ground edge of a bare lens begins to where the lens ends."""
    widths = [at - step for at, _ in ends if 0 < at - step <= BARE_MM]
    # No line: what shows is that the lens is tinted, and it ends right there.
    return min(widths) / 2 + BARE_BEYOND_MM if widths else 0.0


def _peaks(values: FloatArray, steps: FloatArray) -> list[Peak]:
    low, top, high = values[:-2], values[1:-1], values[2:]
    found = []
    for place in np.nonzero((top >= low) & (top > high) & (top > LEAST_PEAK))[0]:
        found.append(
            (float(steps[place + 1]) + STEP_MM * _bend(low[place], top[place], high[place]), float(top[place]))
        )
    return found


def _bend(low: float, top: float, high: float) -> float:
    bend = low - 2 * top + high
    return 0.0 if bend == 0 else float(np.clip(0.5 * (low - high) / bend, -0.5, 0.5))


@dataclass(frozen=True)
class Touching:
    """Where a side lies exactly (mm), how much the places along it scatter (mm), and the share of them that agree."""

    at: float
    scatter_mm: float
    agree: float


def touching(side: Along, edge: Edge) -> Touching:
    """The farthest out that a curve through the edge gets, place by place near where the edge was taken."""
    steps = steps_mm()
    step = side.sign * edge.at - float(side.out.max())
    near = np.abs(steps - step) <= NEAR_MM
    if near.sum() < 3 or len(side.out) < LEAST_PLACES:
        return Touching(edge.at + side.sign * edge.beyond_mm, NEAR_MM, 0.0)
    part, at = side.rise[:, near], steps[near]
    best = np.clip(np.argmax(part, axis=1), 1, part.shape[1] - 2)
    rows = np.arange(len(part))
    shift = np.array([_bend(*part[row, place - 1 : place + 2]) for row, place in zip(rows, best, strict=True)])
    out = side.out + at[best] + STEP_MM * shift
    strong = part[rows, best] > max(LEAST_PEAK, 0.4 * float(np.median(part[rows, best])))
    return _farthest(side, edge, out, strong)


def _farthest(side: Along, edge: Edge, out: FloatArray, keep: npt.NDArray[np.bool_]) -> Touching:
    # The outline's own shape is known well; only how far out it lies, and how it is turned, is fitted anew.
    middle = float(side.along.mean())
    off = out - side.out
    shift: Any = np.zeros(2)
    for _ in range(3):
        if keep.sum() < LEAST_PLACES:
            return Touching(edge.at + side.sign * edge.beyond_mm, NEAR_MM, float(keep.mean()))
        system = np.column_stack([np.ones(len(off)), side.along - middle])
        shift, *_ = np.linalg.lstsq(system[keep], off[keep], rcond=None)
        left = np.abs(off - system @ shift)
        keep = keep & (left < 3 * max(0.05, float(np.median(left[keep]))))
    at = float(np.max(side.out + shift[0] + shift[1] * (side.along - middle))) + edge.beyond_mm
    return Touching(side.sign * at, float(np.sqrt(np.mean(left[keep] ** 2))), float(keep.mean()))
