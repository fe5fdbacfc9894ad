"""Proposed pupil marks: found on the photo by a general vision library and offered with a confidence, never adopted.

A person must accept or move every proposal. This module must never know about measuring: it only hands out pixels.

Method. The eyes are looked for where the face networks put them (see ``seeing``), or in the lens boxes. In each
window the edge of the iris votes: every point with a steep change from dark to bright votes for the places one iris
radius on its dark side (the circular Hough transform, with the direction of the gradient as in J. Illingworth and J.
Kittler, A survey of the Hough transform, 1988). The winner is then refined on the two flanks of the iris, which lids
and lashes leave free, by fitting a circle to the steepest points along rays.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.documents import EYES, Eye

GreyImage = npt.NDArray[np.uint8]

WORKING_RADIUS_PX = 12.0
"""Windows are scaled to give an iris about this radius: enough for tenths of a pixel, small enough to be quick."""

RADIUS_RANGE = (0.65, 1.45)
IRIS_RADIUS_OF_LENS_WIDTH = 0.117
"""A visible iris of 11.7 mm (Rufer et al., Cornea 24:259, 2005) behind a lens of 50 mm."""


FLANK_DEG = 40.0
RAYS = 33


@dataclass(frozen=True)
class Window:
    """Where to look, in px of the photo, and the iris radius to expect there."""

    left: float
    top: float
    right: float
    bottom: float
    iris_radius_px: float


@dataclass(frozen=True)
class Pupil:
    """A proposal. Coordinates as in ``fitting-points/1``: the top-left corner of the photo is (0, 0).

    ``confidence`` runs from 0 to 1: the share of the iris flank that fits one circle, times how clearly it won the
    vote.
    """

    x_px: float
    y_px: float
    iris_radius_px: float
    confidence: float


def lens_window(nasal_x: float, temporal_x: float, top_y: float, bottom_y: float) -> Window:
    """The window inside a lens box, kept off the rims."""
    left, right = sorted((nasal_x, temporal_x))
    width, height = right - left, bottom_y - top_y
    return Window(
        left + 0.12 * width,
        top_y + 0.10 * height,
        right - 0.12 * width,
        bottom_y - 0.10 * height,
        IRIS_RADIUS_OF_LENS_WIDTH * width,
    )


def pupils_in(grey: GreyImage, windows: Mapping[Eye, Window]) -> dict[Eye, Pupil | None]:
    """The iris in each window of a grey photo; None where nothing in it looks like one."""
    found = {eye: find_iris(grey, window) for eye, window in windows.items()}
    if len(found) < 2:
        return found
    return dict(zip(EYES, _doubt_unequal_eyes([found[eye] for eye in EYES]), strict=True))


def find_iris(grey: GreyImage, window: Window) -> Pupil | None:
    """The iris in a window of a grey photo; None if nothing in it looks like one."""
    rows, columns = grey.shape
    x0, y0 = max(0, math.floor(window.left)), max(0, math.floor(window.top))
    x1, y1 = min(columns, math.ceil(window.right)), min(rows, math.ceil(window.bottom))
    if min(x1 - x0, y1 - y0) < 4 or window.iris_radius_px <= 0:
        return None
    factor = WORKING_RADIUS_PX / window.iris_radius_px
    size = max(8, round((x1 - x0) * factor)), max(8, round((y1 - y0) * factor))
    method = cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC
    enlarged = cv2.resize(grey[y0:y1, x0:x1], size, interpolation=method)
    image: FloatArray = cv2.GaussianBlur(enlarged, (0, 0), 1.5).astype(np.float64)
    voted = _vote(image)
    if voted is None:
        return None
    place, clearness = voted
    refined = _refine(image, place)
    if refined is None:
        return None
    x, y, radius, fitting_part = refined
    scale_x, scale_y = (x1 - x0) / size[0], (y1 - y0) / size[1]
    # Half a pixel: an image sample is the middle of its pixel, but a mark is counted from the corner.
    return Pupil(
        x0 + (x + 0.5) * scale_x,
        y0 + (y + 0.5) * scale_y,
        radius * (scale_x + scale_y) / 2,
        min(1.0, fitting_part * clearness),
    )


def _vote(image: FloatArray) -> tuple[tuple[float, float], float] | None:
    """The place (x, y) that most points of the iris edge agree on, and how clearly it won (0 to 1)."""
    down, across = np.gradient(image, axis=0), np.gradient(image, axis=1)
    steepness = np.hypot(across, down)
    rows, columns = np.nonzero(steepness > max(np.percentile(steepness, 75), 1.0))
    if len(rows) < 20:
        return None
    # Square roots, so that one glaring reflection cannot outvote the rim of the iris.
    weight = np.sqrt(steepness[rows, columns])
    unit_x, unit_y = across[rows, columns], down[rows, columns]
    unit_x, unit_y = unit_x / steepness[rows, columns], unit_y / steepness[rows, columns]
    votes: FloatArray = np.zeros_like(image)
    radii = np.arange(RADIUS_RANGE[0] * WORKING_RADIUS_PX, RADIUS_RANGE[1] * WORKING_RADIUS_PX + 0.5)
    for radius in radii:
        x = np.rint(columns - radius * unit_x).astype(int)
        y = np.rint(rows - radius * unit_y).astype(int)
        inside = (x >= 0) & (x < image.shape[1]) & (y >= 0) & (y < image.shape[0])
        np.add.at(votes, (y[inside], x[inside]), weight[inside] / radius)
    votes = np.asarray(cv2.GaussianBlur(votes, (0, 0), 2.0), np.float64)
    darkness = 255.0 - cv2.GaussianBlur(image, (0, 0), WORKING_RADIUS_PX / 3)
    score: FloatArray = votes * darkness
    top, beside = (int(place) for place in np.unravel_index(int(np.argmax(score)), score.shape))
    best = float(score[top, beside])
    if best <= 0:
        return None
    row, column = np.indices(score.shape)
    away: npt.NDArray[np.bool_] = np.hypot(row - top, column - beside) > 2 * WORKING_RADIUS_PX
    second = float(np.max(score, where=away, initial=0.0))
    return (float(beside), float(top)), min(1.0, 2 * (1 - second / best))


def _refine(image: FloatArray, place: tuple[float, float]) -> tuple[float, float, float, float] | None:
    """Circle (x, y, radius) on the flanks of the iris round ``place``, and the share of the rays that fit it."""
    x, y = place
    part = 0.0
    radius = WORKING_RADIUS_PX
    for _ in range(4):
        points, steepness = _flank_points(image, x, y)
        if len(points) < RAYS // 2:
            return None
        fitted = _circle(points, steepness)
        if fitted is None:
            return None
        x, y, radius, kept = fitted
        part = kept / (2 * RAYS)
    low, high = (share * WORKING_RADIUS_PX for share in RADIUS_RANGE)
    moved = math.hypot(x - place[0], y - place[1])
    if not low * 0.8 <= radius <= high * 1.1 or moved > WORKING_RADIUS_PX:
        return None
    return x, y, radius, part


def _flank_points(image: FloatArray, x: float, y: float) -> tuple[FloatArray, FloatArray]:
    """The steepest rise along rays to both sides, as points (n, 2), and how steep each is."""
    half = np.radians(np.linspace(-FLANK_DEG, FLANK_DEG, RAYS))
    # The upper lid covers more of the iris than the lower, so the flanks are taken a little low.
    angles = np.concatenate([half + np.radians(10), np.pi - half - np.radians(10)])
    radii = np.arange(RADIUS_RANGE[0] * WORKING_RADIUS_PX, RADIUS_RANGE[1] * WORKING_RADIUS_PX, 0.25)
    map_x = (x + np.outer(np.cos(angles), radii)).astype(np.float32)
    map_y = (y + np.outer(np.sin(angles), radii)).astype(np.float32)
    profile = cv2.remap(image, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    slope = np.gradient(profile, axis=1)
    best = np.argmax(slope[:, 2:-2], axis=1) + 2
    rows = np.arange(len(angles))
    here, at = slope[rows, best], radii[best]
    usable = here > 0.25 * np.median(here[here > 0]) if np.any(here > 0) else np.zeros(len(here), bool)
    points = np.column_stack([x + np.cos(angles) * at, y + np.sin(angles) * at])
    return points[usable], here[usable]


def _circle(points: FloatArray, weight: FloatArray) -> tuple[float, float, float, int] | None:
    """Circle by least squares (I. Kåsa, IEEE Trans. Instrum. Meas. 25:8, 1976), three times, leaving out the worst."""
    keep = np.ones(len(points), bool)
    x = y = radius = 0.0
    for _ in range(3):
        if keep.sum() < RAYS // 2:
            return None
        used, w = points[keep], np.sqrt(weight[keep])
        system = np.column_stack([2 * used, np.ones(len(used))]) * w[:, None]
        solution, *_ = np.linalg.lstsq(system, np.sum(used**2, axis=1) * w, rcond=None)
        x, y = float(solution[0]), float(solution[1])
        squared = float(solution[2]) + x * x + y * y
        if squared <= 0:
            return None
        radius = math.sqrt(squared)
        off = np.abs(np.hypot(points[:, 0] - x, points[:, 1] - y) - radius)
        keep = off < 0.12 * WORKING_RADIUS_PX
    return x, y, radius, int(keep.sum())


def _doubt_unequal_eyes(found: list[Pupil | None]) -> list[Pupil | None]:
    """The two irises of a face are nearly equal in size; where they are not, both are doubted."""
    right, left = found
    if right is None or left is None:
        return found
    ratio = min(right.iris_radius_px, left.iris_radius_px) / max(right.iris_radius_px, left.iris_radius_px)
    doubt = max(0.0, min(1.0, (ratio - 0.5) / 0.35))
    return [_with_confidence(pupil, pupil.confidence * doubt) for pupil in (right, left)]


def _with_confidence(pupil: Pupil, confidence: float) -> Pupil:
    fields: dict[str, Any] = {**pupil.__dict__, "confidence": confidence}
    return Pupil(**fields)
