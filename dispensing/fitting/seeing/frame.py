"""The edges of both lenses, found by fitting the known A, B and DBL as one figure, each side then set on its own edge.

The frame is looked for in an upright picture of the part of the face round the eyes, at a fixed scale. Upright and
level edges are gathered along short lines there, for a side of a box touches its lens only over a short length. All
places, sizes and leans within reach are tried at once; the figure that lies on most edges wins. A rim has two edges:
only the inner ones, where the lenses end, are as far apart as A, B and DBL say, all eight at once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import Any

import cv2
import numpy as np

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.documents import Eye
from dispensing.fitting.pupils import GreyImage

PX_PER_MM = 4.0
HALF_MM = (88.0, 48.0)
SOFT_MM = 0.3
LINE_SHARE = 0.2
"""Over what part of B (or A) an edge is gathered."""

ALONG = (-0.22, 0.0, 0.22)
"""Where along a side its lens may touch the box, in parts of the side's length."""

LEANS_DEG = (-3.0, -1.5, 0.0, 1.5, 3.0)
ACROSS_MM = np.arange(-9.0, 9.01, 0.5)
DOWN_MM = np.arange(-4.0, 13.01, 0.75)
SIZES = np.arange(0.84, 1.181, 0.02)
EITHER_EDGE_MM = 1.0
SHOWN_OF_B = 0.988
"""What a usual tilt of 9° leaves of B to a camera straight ahead."""

SNAP_MM = 3.4
MOST_EDGES = 4
RIM_MM = (0.7, 3.4)
PAIR = 1.1
KNOWN_SD_MM = 0.3
SIZE_SD = 0.03
DEPTH_SD_MM = 0.5
MOST_OFF = 9.0
WORTH = 4.5
ELSEWHERE_MM = 0.6
FAR_AHEAD = 8.0
STRONG = 0.5
SIDES = ("nasal", "temporal", "top", "bottom")


@dataclass(frozen=True)
class FrameSizes:
    """As engraved or measured, mm."""

    a_mm: float
    b_mm: float
    dbl_mm: float


@dataclass(frozen=True)
class SeenSide:
    """The middle of one side of a box, px of the photo, and how surely it is one (0 to 1)."""

    x_px: float
    y_px: float
    sure: float


@dataclass(frozen=True)
class _Fit:
    """In mm of the upright picture: the middle of the bridge, the size against that told by the irises, the lean."""

    across: float
    down: float
    size: float
    lean_deg: float
    score: float


@dataclass(frozen=True)
class _Upright:
    """How strong edges are: ``upright`` and ``level`` ones, and the affine map (2 × 3) from the photo."""

    upright: FloatArray
    level: FloatArray
    into: FloatArray


def find_sides(
    grey: GreyImage, irises: dict[Eye, tuple[float, float]], px_per_mm: float, frame: FrameSizes
) -> dict[Eye, dict[str, SeenSide]]:
    """The four sides of both boxes. ``irises``: their middles in px; ``px_per_mm``: as the irises tell it."""
    right, left = (np.array(irises[eye]) for eye in ("right", "left"))
    middle, lean = (right + left) / 2, float(np.degrees(np.arctan2(*(left - right)[::-1])))
    best = max((_fitted(_upright(grey, middle, px_per_mm, lean + by), frame, by) for by in LEANS_DEG), key=_score)
    for _ in range(2):
        picture = _upright(grey, middle, px_per_mm, lean + best.lean_deg)
        best = _fitted(picture, frame, best.lean_deg)
        set_on = _snapped(picture, frame, best)
        best = replace(best, lean_deg=best.lean_deg + _lean_left(set_on, frame))
    return _told(picture, set_on)


def _score(fit: _Fit) -> float:
    return fit.score


def _upright(grey: GreyImage, middle: FloatArray, px_per_mm: float, lean_deg: float) -> _Upright:
    scale, lean = PX_PER_MM / px_per_mm, np.radians(lean_deg)
    turn = scale * np.array([[np.cos(lean), np.sin(lean)], [-np.sin(lean), np.cos(lean)]])
    size = [round(2 * half * PX_PER_MM) for half in HALF_MM]
    into = np.column_stack([turn, np.array(size) / 2 - turn @ (middle - 0.5) - 0.5])
    flat = cv2.warpAffine(grey, into, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    soft = cv2.GaussianBlur(flat, (0, 0), SOFT_MM * PX_PER_MM).astype(np.float32)
    found = [np.abs(cv2.Sobel(soft, cv2.CV_32F, 1 - axis, axis)) for axis in (0, 1)]
    # Beyond a middling edge a stronger one counts little more: a bright reflection must not outvote a rim.
    middling = [float(np.percentile(one, 85)) + 1.0 for one in found]
    upright, level = (one / (one + usual) for one, usual in zip(found, middling, strict=True))
    return _Upright(upright.astype(np.float64), level.astype(np.float64), into)


def _gathered(picture: _Upright, frame: FrameSizes) -> tuple[FloatArray, FloatArray]:
    tall, wide = (max(3, round(LINE_SHARE * side * PX_PER_MM)) for side in (frame.b_mm, frame.a_mm))
    return cv2.blur(picture.upright, (1, tall)), cv2.blur(picture.level, (wide, 1))  # type: ignore[return-value]  # float in, float out


def _at(edges: FloatArray, x_mm: Any, y_mm: Any) -> FloatArray:
    """Edge strength at places in mm from the middle of the upright picture, the nearest pixel's; 0 outside it."""
    rows, columns = edges.shape
    x = np.rint((np.asarray(x_mm) + HALF_MM[0]) * PX_PER_MM - 0.5).astype(int)
    y = np.rint((np.asarray(y_mm) + HALF_MM[1]) * PX_PER_MM - 0.5).astype(int)
    inside = (x >= 0) & (x < columns) & (y >= 0) & (y < rows)
    found: FloatArray = np.where(inside, edges[np.clip(y, 0, rows - 1), np.clip(x, 0, columns - 1)], 0.0)
    return found


def _best_along(edges: FloatArray, x_mm: Any, y_mm: Any, by: tuple[float, float]) -> FloatArray:
    """The strongest of the lines along a side: ``by`` is the side's length across and down, mm."""
    lines = [_at(edges, x_mm + by[0] * part, y_mm + by[1] * part) for part in ALONG]
    best: FloatArray = np.max(lines, axis=0)
    return best


def _fitted(picture: _Upright, frame: FrameSizes, lean_deg: float) -> _Fit:
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
    return _Fit(float(across[place]), float(down[place]), float(size[place]), lean_deg, float(score[place]))


def _places(frame: FrameSizes, fit: _Fit) -> dict[Eye, dict[str, tuple[float, float]]]:
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


def _snapped(picture: _Upright, frame: FrameSizes, fit: _Fit) -> dict[Eye, dict[str, SeenSide]]:
    """Each side on that edge near it which, with the others, makes the known frame; in mm of the upright picture."""
    upright, level = _gathered(picture, frame)
    places = _places(frame, fit)
    edges: dict[Name, list[Edge]] = {}
    for eye, box in places.items():
        for name, at in box.items():
            if name in ("top", "bottom"):
                edges[eye, name] = _edges_near(level, at, (0.0, -1.0 if name == "top" else 1.0), (frame.a_mm, 0.0))
            else:
                outwards = (-1.0 if eye == "right" else 1.0) * (1 if name == "temporal" else -1)
                edges[eye, name] = _edges_near(upright, at, (outwards, 0.0), (0.0, frame.b_mm))
    found: dict[Eye, dict[str, SeenSide]] = {"right": {}, "left": {}}
    for (eye, name), (place, sure) in _as_one_figure(edges, frame, fit.size).items():
        x, y = places[eye][name]
        found[eye][name] = SeenSide(x, place, sure) if name in ("top", "bottom") else SeenSide(place, y, sure)
    return found


Name = tuple[Eye, str]


@dataclass(frozen=True)
class Edge:
    """Where an edge lies (mm across its side), how strong it is (0 to 1), and that with the other edge of the rim."""

    at: float
    strength: float
    worth: float


def _edges_near(
    edges: FloatArray, at: tuple[float, float], out: tuple[float, float], along: tuple[float, float]
) -> list[Edge]:
    """The edges most worth near where a side should be, each placed by a parabola. ``out``: away from the lens."""
    at = _on_a_pixel(at)
    steps = np.arange(-SNAP_MM - RIM_MM[1], SNAP_MM + RIM_MM[1] + 0.01, 1 / PX_PER_MM)
    strength = _best_along(edges, at[0] + out[0] * steps, at[1] + out[1] * steps, along)
    usual, sign = float(np.median(strength)), out[0] + out[1]
    peaks = []
    for place in range(1, len(steps) - 1):
        low, top, high = (float(one) for one in strength[place - 1 : place + 2])
        if top >= low and top > high and top > usual:
            bend = low - 2 * top + high
            step = float(steps[place]) + (0.0 if bend == 0 else 0.5 * (low - high) / bend / PX_PER_MM)
            peaks.append((step, (top - usual) / (1 - usual + 1e-6)))
    origin = at[0] * abs(out[0]) + at[1] * abs(out[1])
    found = [
        Edge(origin + sign * step, strong, strong + PAIR * (_beyond(peaks, step, 1) - _beyond(peaks, step, -1)))
        for step, strong in peaks
        if abs(step) <= SNAP_MM
    ]
    return sorted(found, key=lambda one: -one.worth)[:MOST_EDGES] or [Edge(origin, 0.0, 0.0)]


def _on_a_pixel(at: tuple[float, float]) -> tuple[float, float]:
    """The middle of the nearest pixel of the upright picture, so that steps of a pixel fall on pixels."""
    x, y = (
        (round((value + half) * PX_PER_MM - 0.5) + 0.5) / PX_PER_MM - half
        for value, half in zip(at, HALF_MM, strict=True)
    )
    return x, y


def _beyond(peaks: list[tuple[float, float]], step: float, way: int) -> float:
    """How strong the other edge of a rim is that would lie outwards (``way`` 1) or inwards of the edge at ``step``."""
    return max((strong for other, strong in peaks if RIM_MM[0] <= way * (other - step) <= RIM_MM[1]), default=0.0)


def _as_one_figure(edges: dict[Name, list[Edge]], frame: FrameSizes, size: float) -> dict[Name, tuple[float, float]]:
    """Of all ways to take one edge a side, the one that is most the known frame; each side's place and its trust.

    Across, the four sides share a middle and a size; down, each lens has a middle of its own and the same size. What
    the edges are worth and how far they lie from the figure make up what a way costs.
    """
    x_names: list[Name] = [("right", "temporal"), ("right", "nasal"), ("left", "nasal"), ("left", "temporal")]
    half, all_of_it = frame.dbl_mm / 2, frame.dbl_mm / 2 + frame.a_mm
    should = np.array([-all_of_it, -half, half, all_of_it])
    groups = [_Ways(edges, x_names), *(_Ways(edges, [(eye, "top"), (eye, "bottom")]) for eye in ("right", "left"))]
    x, right, left = groups
    from_middle = x.at - x.at.mean(axis=1, keepdims=True)
    best_size = from_middle @ should / (should @ should)
    off_x = np.sum((from_middle - best_size[:, np.newaxis] * should) ** 2, axis=1) / KNOWN_SD_MM**2
    costs_x = off_x + ((best_size - size) / SIZE_SD) ** 2 - WORTH * x.worth.sum(axis=1)
    # A side of which no edge shows must not drag the others: beyond a limit a wrong depth costs no more.
    off_down = [_off_down(one, best_size, frame) for one in (right, left)]
    costs_down = [
        np.minimum(off, MOST_OFF) - WORTH * one.worth.sum(axis=1) for off, one in zip(off_down, (right, left))
    ]
    way = int(np.argmin(costs_x + costs_down[0].min(axis=1) + costs_down[1].min(axis=1)))
    total = costs_x + costs_down[0].min(axis=1) + costs_down[1].min(axis=1)
    found: dict[Name, tuple[float, float]] = {}
    fits_x = float(np.exp(-off_x[way] / MOST_OFF))
    for column, name in enumerate(x.names):
        found[name] = float(x.at[way, column]), fits_x * _trust(x, total, way, column)
    for one, costs, off in zip((right, left), costs_down, off_down, strict=True):
        down = int(np.argmin(costs[way]))
        fits = float(np.exp(-off[way, down] / MOST_OFF)) if off[way, down] < MOST_OFF else 0.0
        for column, name in enumerate(one.names):
            found[name] = float(one.at[down, column]), fits * _trust(one, costs[way], down, column)
    return found


def _off_down(ways: _Ways, sizes: FloatArray, frame: FrameSizes) -> FloatArray:
    """How far the depth of each way is from B at each size, in squared spreads: sizes × ways."""
    off = np.diff(ways.at, axis=1)[:, 0] - sizes[:, np.newaxis] * SHOWN_OF_B * frame.b_mm
    squared: FloatArray = (off / DEPTH_SD_MM) ** 2
    return squared


class _Ways:
    """All ways to take one edge for each of some sides: places and strengths, ways × sides."""

    def __init__(self, edges: dict[Name, list[Edge]], names: list[Name]) -> None:
        self.names = names
        ways = list(product(*(edges[name] for name in names)))
        self.at, self.strength, self.worth = (
            np.array([[getattr(edge, what) for edge in way] for way in ways]) for what in ("at", "strength", "worth")
        )


def _trust(group: _Ways, least: FloatArray, way: int, column: int) -> float:
    """How surely a side is where the best way has it: little where another way, with it elsewhere, is as good."""
    elsewhere = np.abs(group.at[:, column] - group.at[way, column]) > ELSEWHERE_MM
    ahead = float(np.min(least[elsewhere], initial=least[way] + FAR_AHEAD) - least[way])
    return min(1.0, ahead / FAR_AHEAD) * min(1.0, float(group.strength[way, column]) / STRONG)


def _lean_left(box: dict[Eye, dict[str, SeenSide]], frame: FrameSizes) -> float:
    """How far the line through both lenses still leans in the upright picture, degrees."""
    right, left = ((sides["top"].y_px + sides["bottom"].y_px) / 2 for sides in (box["right"], box["left"]))
    return float(np.degrees(np.arctan2(left - right, frame.a_mm + frame.dbl_mm)))


def _told(picture: _Upright, box: dict[Eye, dict[str, SeenSide]]) -> dict[Eye, dict[str, SeenSide]]:
    """The sides in px of the photo: each in the middle of its box's side."""
    back = np.linalg.inv(picture.into[:, :2])
    found: dict[Eye, dict[str, SeenSide]] = {}
    for eye, sides in box.items():
        centre = (
            (sides["nasal"].x_px + sides["temporal"].x_px) / 2,
            (sides["top"].y_px + sides["bottom"].y_px) / 2,
        )
        found[eye] = {}
        for name, side in sides.items():
            x, y = (side.x_px, centre[1]) if name in ("nasal", "temporal") else (centre[0], side.y_px)
            flat = np.array([(x + HALF_MM[0]) * PX_PER_MM - 0.5, (y + HALF_MM[1]) * PX_PER_MM - 0.5])
            place = back @ (flat - picture.into[:, 2]) + 0.5
            found[eye][name] = SeenSide(float(place[0]), float(place[1]), side.sure)
    return found
