"""A card of the format ID-1 (ISO/IEC 7810: 85.60 × 53.98 mm) held level before a face, for the scale of the photo.

Every place, size and lean within reach of the face is tried at once on coarse edges. Along each side of the best the
edge is then found place by place and a line is put through; the card is known by its proportions, its square corners
and by how many places lie on its lines. A card held upright is not looked for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from dispensing.fitting.anatomy import ID1_CARD_HEIGHT_MM, ID1_CARD_LENGTH_MM
from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.documents import Eye, Pixel
from dispensing.fitting.seeing.face import RgbImage
from dispensing.fitting.seeing.trust import share

COARSE_PX, FINE_PX = 1.0, 4.0
HALF_MM = (100.0, 135.0)
LEANS_DEG = np.arange(-12.0, 12.01, 2.0)
SIZES = np.arange(0.86, 1.161, 0.03)
STRAIGHT_SHARE = 0.76
"""The part of a side between its rounded corners (3.18 mm) and what fingers usually leave free."""

PLACES, REACH_MM, OFF_LINE_MM = 41, 3.4, 0.35
SOFT_MM = 0.25
LEAST_SLOPE = 1.0
Plane = npt.NDArray[np.float32]
SIDES = ("left", "right", "top", "bottom")

WEIGHTS = (0.17, 1.77, 1.81, -3.85, -1.49, 1.56)
"""Of a logistic regression on 80 painted faces, 60 of them with a card: how often the ends are 85.60 mm apart to 0.4 %.
Of ``looks``: a constant, the shares of places on the two worst lines, proportions, skew, edge."""


@dataclass(frozen=True)
class SeenCard:
    """``ends``: middles of both short sides, 85.60 mm apart, px as marks are counted; ``corners`` clockwise."""

    ends: tuple[Pixel, Pixel]
    corners: tuple[Pixel, Pixel, Pixel, Pixel]
    sure: float
    looks: tuple[float, ...]


@dataclass(frozen=True)
class _Place:
    x: float
    y: float
    size: float
    lean_deg: float
    score: float


@dataclass(frozen=True)
class _Line:
    """Through ``point`` along ``way``, mm of the fine picture; ``agree``: share of places on it."""

    point: FloatArray
    way: FloatArray
    agree: float
    strong: float


def find_card(photo: RgbImage, irises: dict[Eye, tuple[float, float]], px_per_mm: float) -> SeenCard | None:
    """The card near a face; None where no four lines make one. ``px_per_mm``: as the irises tell it."""
    right, left = (np.array(irises[eye]) for eye in ("right", "left"))
    middle, lean = (right + left) / 2, float(np.degrees(np.arctan2(*(left - right)[::-1])))
    near = _shrunk(photo, middle, px_per_mm)
    place = max((_coarse(near, lean + by) for by in LEANS_DEG), key=lambda one: one.score)
    lines = _lines(photo, middle, px_per_mm, place)
    return None if lines is None else _told(lines, middle, px_per_mm, place)


def _into(middle: FloatArray, px_per_mm: float, lean_deg: float, px: float) -> tuple[FloatArray, tuple[int, int]]:
    scale, lean = px / px_per_mm, math.radians(lean_deg)
    turn = scale * np.array([[math.cos(lean), math.sin(lean)], [-math.sin(lean), math.cos(lean)]])
    size = round(2 * HALF_MM[0] * px), round(2 * HALF_MM[1] * px)
    return np.column_stack([turn, np.array(size) / 2 - turn @ (middle - 0.5) - 0.5]), size


def _planes(picture: RgbImage, soft_px: float) -> list[Plane]:
    """Lightness, and how much redder than blue: a card as dark as the hair behind it shows in the second."""
    part = cv2.GaussianBlur(picture, (0, 0), soft_px)
    red, blue = part[..., 0].astype(np.float32), part[..., 2].astype(np.float32)
    return [np.asarray(cv2.cvtColor(part, cv2.COLOR_RGB2GRAY), np.float32), red - blue]


def _shrunk(photo: RgbImage, middle: FloatArray, px_per_mm: float) -> list[Plane]:
    """The neighbourhood of the face, not turned, at twice the coarse scale."""
    into, size = _into(middle, px_per_mm, 0.0, 2 * COARSE_PX)
    part = cv2.warpAffine(photo, into, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return _planes(np.asarray(part, np.uint8), 1.2)


def _coarse(near: list[Plane], lean_deg: float) -> _Place:
    rows, columns = near[0].shape
    turn = cv2.getRotationMatrix2D(((columns - 1) / 2, (rows - 1) / 2), lean_deg, 1.0)
    wide, tall = (round(STRAIGHT_SHARE * side * COARSE_PX) for side in (ID1_CARD_LENGTH_MM, ID1_CARD_HEIGHT_MM))
    edges = []
    for axis, kernel in ((0, (1, tall)), (1, (wide, 1))):
        shown: Any = 0.0
        for plane in near:
            level = cv2.warpAffine(plane, turn, (columns, rows), borderMode=cv2.BORDER_REPLICATE)
            slope = cv2.Sobel(cv2.resize(level, None, fx=0.5, fy=0.5), cv2.CV_32F, 1 - axis, axis)
            # Signed, so that hair and print, which go both ways, cancel along a line while a side of a card does not.
            shown = np.maximum(shown, np.abs(cv2.blur(slope / (np.abs(slope) + 12.0), kernel)))
        edges.append(cv2.dilate(shown, np.ones((3, 3))))
    return max((_best_of_size(edges[0], edges[1], float(size), lean_deg) for size in SIZES), key=lambda one: one.score)


def _best_of_size(upright: npt.NDArray[Any], level: npt.NDArray[Any], size: float, lean_deg: float) -> _Place:
    half_x, half_y = (round(size * side / 2 * COARSE_PX) for side in (ID1_CARD_LENGTH_MM, ID1_CARD_HEIGHT_MM))
    rows, columns = upright.shape
    inner = slice(half_y, rows - half_y), slice(half_x, columns - half_x)
    sides = [
        upright[inner[0], : columns - 2 * half_x],
        upright[inner[0], 2 * half_x :],
        level[: rows - 2 * half_y, inner[1]],
        level[2 * half_y :, inner[1]],
    ]
    score = sum(sides) + 2 * np.minimum.reduce(sides)
    row, column = np.unravel_index(int(np.argmax(score)), score.shape)
    x, y = (int(column) + half_x + 0.5) / COARSE_PX - HALF_MM[0], (int(row) + half_y + 0.5) / COARSE_PX - HALF_MM[1]
    return _Place(x, y, size, lean_deg, float(score[row, column]))


def _lines(photo: RgbImage, middle: FloatArray, px_per_mm: float, place: _Place) -> dict[str, _Line] | None:
    into, size = _into(middle, px_per_mm, place.lean_deg, FINE_PX)
    flat = np.asarray(cv2.warpAffine(photo, into, size, borderMode=cv2.BORDER_REPLICATE), np.uint8)
    planes = _planes(flat, SOFT_MM * FINE_PX)
    found = {side: max((_line(one, place, side) for one in planes), key=_shown) for side in SIDES}
    if any(one is None for one in found.values()):
        return None
    return {side: one for side, one in found.items() if one is not None}


def _shown(line: _Line | None) -> float:
    return 0.0 if line is None else line.agree * line.strong / (line.strong + LEAST_SLOPE)


def _line(soft: Plane, place: _Place, side: str) -> _Line | None:
    """A line through the outermost edge that most places along a side show."""
    lying = side in ("top", "bottom")
    along_mm, across_mm = (
        (ID1_CARD_LENGTH_MM, ID1_CARD_HEIGHT_MM) if lying else (ID1_CARD_HEIGHT_MM, ID1_CARD_LENGTH_MM)
    )
    out = -1.0 if side in ("left", "top") else 1.0
    along = np.linspace(-0.5, 0.5, PLACES) * STRAIGHT_SHARE * along_mm * place.size
    steps = np.arange(-REACH_MM, REACH_MM + 1e-6, 1 / FINE_PX / 2)
    across = out * (across_mm * place.size / 2 + steps)
    a, b = np.meshgrid(along, across, indexing="ij")
    x, y = (place.x + a, place.y + b) if lying else (place.x + b, place.y + a)
    profile = cv2.remap(
        soft,
        ((x + HALF_MM[0]) * FINE_PX - 0.5).astype(np.float32),
        ((y + HALF_MM[1]) * FINE_PX - 0.5).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    slope = np.gradient(profile.astype(np.float64), axis=1)
    sign = 1.0 if np.sum(np.max(slope, axis=1)) > np.sum(np.max(-slope, axis=1)) else -1.0
    best = _voted(sign * slope, along, steps)
    if best is None:
        return None
    shift, lean, agree, strong = best
    at = out * (across_mm * place.size / 2 + shift)
    point, way = (np.array([place.x, place.y + at]), np.array([1.0, out * lean]))
    if side in ("left", "right"):
        point, way = np.array([place.x + at, place.y]), np.array([out * lean, 1.0])
    return _Line(point, way, agree, strong)


def _voted(slope: FloatArray, along: FloatArray, steps: FloatArray) -> tuple[float, float, float, float] | None:
    """Shift and lean of the line with most places on it, the share of them, and how steep the edge is there."""
    clipped = np.clip(slope, 0.0, None)
    strength = clipped / (clipped + 4.0)
    best, score = (0.0, 0.0), -1.0
    for lean in np.linspace(-0.035, 0.035, 15):
        at = (steps[np.newaxis] - lean * along[:, np.newaxis] - steps[0]) / (steps[1] - steps[0])
        moved = cv2.remap(
            strength.astype(np.float32),
            (2 * np.arange(len(steps))[np.newaxis] - at).astype(np.float32),
            np.repeat(np.arange(len(along))[:, np.newaxis], len(steps), axis=1).astype(np.float32),
            cv2.INTER_LINEAR,
        ).mean(axis=0)
        place = int(np.argmax(moved))
        if moved[place] > score:
            best, score = (float(steps[place]), float(lean)), float(moved[place])
    return _fitted(slope, along, steps, best)


def _fitted(
    slope: FloatArray, along: FloatArray, steps: FloatArray, first: tuple[float, float]
) -> tuple[float, float, float, float] | None:
    shift, lean = first
    expected = shift + lean * along
    near = np.where(np.abs(steps[np.newaxis] - expected[:, np.newaxis]) < 2 * OFF_LINE_MM, np.clip(slope, 0, None), 0.0)
    total = near.sum(axis=1)
    at = np.where(total > 0, (near * steps).sum(axis=1) / np.maximum(total, 1e-9), np.inf)
    strong = near.max(axis=1)
    keep = (strong > LEAST_SLOPE) & np.isfinite(at)
    for _ in range(3):
        if keep.sum() < PLACES // 4:
            return None
        lean, shift = np.polyfit(along[keep], at[keep], 1)
        keep = (strong > LEAST_SLOPE) & (np.abs(at - shift - lean * along) < OFF_LINE_MM)
    return float(shift), float(lean), float(keep.mean()), float(np.median(strong[keep]))


def _told(lines: dict[str, _Line], middle: FloatArray, px_per_mm: float, place: _Place) -> SeenCard:
    ways = [("left", "top"), ("right", "top"), ("right", "bottom"), ("left", "bottom")]
    corners = np.array([_meet(lines[one], lines[other]) for one, other in ways])
    wide = (np.hypot(*(corners[1] - corners[0])) + np.hypot(*(corners[2] - corners[3]))) / 2
    tall = (np.hypot(*(corners[3] - corners[0])) + np.hypot(*(corners[2] - corners[1]))) / 2
    into, _ = _into(middle, px_per_mm, place.lean_deg, FINE_PX)
    flat = (corners + HALF_MM) * FINE_PX - 0.5
    on_photo = (flat - into[:, 2]) @ np.linalg.inv(into[:, :2]).T + 0.5
    agree = sorted(line.agree for line in lines.values())
    off = abs(math.log(wide / tall / (ID1_CARD_LENGTH_MM / ID1_CARD_HEIGHT_MM)))
    skew = max(abs(lines["left"].way[0] - lines["right"].way[0]), abs(lines["top"].way[1] - lines["bottom"].way[1]))
    strong = min(line.strong for line in lines.values())
    looks = (1.0, agree[0], agree[1], min(off, 0.1) * 10, min(skew, 0.1) * 10, strong / (strong + 8.0))
    ends = (on_photo[0] + on_photo[3]) / 2, (on_photo[1] + on_photo[2]) / 2
    sure = share(sum(weight * value for weight, value in zip(WEIGHTS, looks, strict=True)))
    told = [(float(x), float(y)) for x, y in (*ends, *on_photo)]
    return SeenCard((told[0], told[1]), (told[2], told[3], told[4], told[5]), sure, looks)


def _meet(one: _Line, other: _Line) -> FloatArray:
    along, _ = np.linalg.solve(np.column_stack([one.way, -other.way]), other.point - one.point)
    place: FloatArray = one.point + along * one.way
    return place
