"""The edge of each lens followed all round, so that a side of its box is told by many places and not by one line.

Each lens is unrolled about its middle: angles down, distances across, a distance of 1 being the ellipse in its box. The
edge of a lens is where, going outwards, a rim begins: darker than what lies on both its sides, or brighter, all round
the same. Of all ways once round, the one with most of such an edge and few bends wins (dynamic programming, R. Bellman,
1957). Both lenses of a frame are mirror images; where one is hidden, the other tells how it goes on.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.documents import Eye

ANGLES = 144
NEAREST, FARTHEST, STEP = 0.72, 1.52, 0.008
"""How far from the middle an edge is looked for, in parts of the ellipse's radius."""

RIM_MM = (0.4, 3.8)
FINE_STEPS = 3
MOST_STEPS, BEND_COST = 6, 0.05
OTHER_LENS = 0.5
ALIKE_MM = 0.9

Ways = npt.NDArray[np.int_]


@dataclass(frozen=True)
class Box:
    """Where a lens is expected, in px of the upright picture: middle and half sizes."""

    x: float
    y: float
    half_a: float
    half_b: float


@dataclass(frozen=True)
class Unrolled:
    """A lens unrolled: ``begins`` how much a rim begins there (0 to 1), ``edge`` how strong that edge is alone."""

    begins: FloatArray
    edge: FloatArray
    usual: float


@dataclass(frozen=True)
class Outline:
    """``parts``: how far the edge lies at each angle, in parts of the ellipse; ``worth``: of the edge there, 0 to 1."""

    parts: FloatArray
    worth: FloatArray
    total: float


def angles() -> FloatArray:
    """From the temporal side of the right lens (or nasal of the left) over the top, as the picture is seen."""
    return np.arange(ANGLES) * 2 * np.pi / ANGLES


def parts() -> FloatArray:
    return np.arange(NEAREST, FARTHEST, STEP)


def unrolled(soft: npt.NDArray[np.float32], box: Box, eye: Eye, px_per_mm: float, darker: bool) -> Unrolled:
    """Angles × distances. The left lens is unrolled in a mirror, so that both run alike."""
    turn, part = angles(), parts()
    mirror = 1.0 if eye == "right" else -1.0
    map_x = (box.x + mirror * box.half_a * np.outer(np.cos(turn), part)).astype(np.float32)
    map_y = (box.y + box.half_b * np.outer(np.sin(turn), part)).astype(np.float32)
    flat = cv2.remap(soft, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    long = np.hypot(box.half_a * np.cos(turn), box.half_b * np.sin(turn))[:, np.newaxis] / px_per_mm
    slope = np.gradient(flat, axis=1).astype(np.float64) / (STEP * long)
    usual = float(np.percentile(np.abs(slope), 80)) + 1.5
    rise = slope / (np.abs(slope) + usual) * (-1.0 if darker else 1.0)
    into, out = np.maximum(rise, 0.0), np.maximum(-rise, 0.0)
    # The end of a rim counts only as far as its beginning shows: the edge of a dark lens is no rim.
    return Unrolled(into + np.minimum(into, _beyond(out, float(long.mean()))), into, usual)


def _beyond(out: FloatArray, mean_mm: float) -> FloatArray:
    """The strongest end of a rim within the thickness of one outwards of each place."""
    near, far = (max(1, round(mm / (STEP * mean_mm))) for mm in RIM_MM)
    wide = far - near + 1
    padded = np.pad(out, ((0, 0), (0, far)))[:, near:]
    strongest: FloatArray = np.max(np.lib.stride_tricks.sliding_window_view(padded, wide, axis=1), axis=2)
    return strongest[:, : out.shape[1]]


def both_followed(right: Unrolled, left: Unrolled, mean_mm: float) -> dict[Eye, Outline]:
    """The edge of each lens, helped by that of the other. ``mean_mm``: of the ellipse's radius."""
    reach = max(1, round(ALIKE_MM / (STEP * mean_mm)))
    found: dict[Eye, Outline] = {}
    pairs: tuple[tuple[Eye, Unrolled, Unrolled], ...] = (("right", right, left), ("left", left, right))
    for eye, own, other in pairs:
        helped = cv2.dilate(other.begins, np.ones((1, 2 * reach + 1)))
        found[eye] = _followed(own.begins + OTHER_LENS * np.asarray(helped, np.float64), own)
    return found


def _followed(worth: FloatArray, own: Unrolled) -> Outline:
    """The way once round with the most worth; begun twice, so that it closes."""
    twice = np.vstack([worth, worth])
    best, came = twice[0].copy(), np.zeros(twice.shape, np.int64)
    bends = np.arange(-MOST_STEPS, MOST_STEPS + 1)
    cost = BEND_COST * np.abs(bends)
    columns = np.arange(worth.shape[1])
    for row in range(1, len(twice)):
        padded = np.pad(best, MOST_STEPS, constant_values=-np.inf)
        ways = np.lib.stride_tricks.sliding_window_view(padded, len(bends)) - cost
        chosen = np.argmax(ways, axis=1)
        came[row] = columns + bends[chosen]
        best = ways[columns, chosen] + twice[row]
    at = int(np.argmax(best))
    way = np.zeros(len(twice), np.int64)
    for row in range(len(twice) - 1, -1, -1):
        way[row] = at
        at = int(came[row, at])
    half = ANGLES // 2
    closed = np.roll(way[half : half + ANGLES], half)
    rows = np.arange(ANGLES)
    mine: FloatArray = own.begins[rows, closed]
    return Outline(_finely(own.edge, closed), mine / 2, float(worth[rows, closed].sum()))


def _finely(edge: FloatArray, way: Ways) -> FloatArray:
    """The way between the steps, at the middle of the edge that it follows."""
    near = way[:, np.newaxis] + np.arange(-FINE_STEPS, FINE_STEPS + 1)
    near = np.clip(near, 0, edge.shape[1] - 1)
    strong = np.take_along_axis(edge, near, axis=1) ** 2 + 1e-6
    middle: FloatArray = np.sum(strong * parts()[near], axis=1) / np.sum(strong, axis=1)
    return middle
