"""The pupil's own middle within an iris that was found, with how surely it is one.

The iris finder gives the edge of the iris, whose middle lies about a quarter of a millimetre beside that of the pupil.
Along rays from there the steepest rise from dark to bright within the iris is the pupil's edge; a circle is fitted to
it. Where a dark iris hides that edge, the pupil is taken where it usually lies in the iris, with less trust.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.documents import Eye
from dispensing.fitting.pupils import GreyImage, Pupil, Window, find_iris
from dispensing.fitting.seeing.face import SeenFace, SeenIris
from dispensing.trade import figure

IRIS_RADIUS_MM = figure("visible-iris", "radius_mm")
PUPIL_NASAL_MM = figure("visible-iris", "pupil_nasal_mm")

ROOM = (2.4, 1.8)
"""How far across and up the iris is looked for, in radii as the network has it."""

RAYS = 72
EDGES = (0.18, 0.62)
"""Between these parts of the iris's radius a pupil ends in ordinary light."""

OFF_MIDDLE = (0.12, 0.22)
"""How far across and up, in radii, a pupil may lie off the middle of the iris; lids leave that less sure in height."""

STARTS = (0.0, 0.15, -0.15)
"""How far below the middle of the iris a pupil is looked for from, in its radii, one after the other."""

LEAST_RAYS = 0.45
ALIKE = 0.10
LEAST_RISE = 3.0
LEAST_RADIUS_PX = 8.0
"""A smaller iris has too few pixels for the edge of its pupil."""


@dataclass(frozen=True)
class SeenPupil:
    """``x_px``, ``y_px``: as marks are counted. ``sure``: 0 to 1. ``own``: whether the pupil's own edge shows."""

    x_px: float
    y_px: float
    iris_radius_px: float
    sure: float
    own: bool


def find_pupils(grey: GreyImage, face: SeenFace) -> dict[Eye, SeenPupil | None]:
    """The pupil of each eye; None where nothing looks like an iris near the place that the network told."""
    found = {eye: _find(grey, seen, eye, face.sure) for eye, seen in face.irises.items()}
    right, left = found["right"], found["left"]
    if right is None or left is None:
        return found
    # The two irises of a face are alike: what is not casts doubt on both.
    alike = min(right.iris_radius_px, left.iris_radius_px) / max(right.iris_radius_px, left.iris_radius_px)
    doubt = min(1.0, max(0.0, (alike - 0.75) / 0.15))
    return {"right": replace(right, sure=right.sure * doubt), "left": replace(left, sure=left.sure * doubt)}


def _find(grey: GreyImage, seen: SeenIris, eye: Eye, face_sure: float) -> SeenPupil | None:
    across, up = (room * seen.radius_px for room in ROOM)
    window = Window(seen.x_px - across, seen.y_px - up, seen.x_px + across, seen.y_px + up, seen.radius_px)
    iris = find_iris(grey, window)
    if iris is None:
        return None
    apart = math.hypot(iris.x_px - seen.x_px, iris.y_px - seen.y_px) / iris.iris_radius_px
    size = min(iris.iris_radius_px, seen.radius_px) / max(iris.iris_radius_px, seen.radius_px)
    agree = max(0.0, 1 - max(0.0, apart - 0.25) / 0.5) * min(1.0, max(0.0, (size - 0.65) / 0.2))
    sure = iris.confidence * agree * min(1.0, face_sure / 0.7)
    own = _own_middle(grey, iris)
    if own is None:
        nasal = PUPIL_NASAL_MM / IRIS_RADIUS_MM * iris.iris_radius_px * (1 if eye == "right" else -1)
        return SeenPupil(iris.x_px + nasal, iris.y_px, iris.iris_radius_px, sure, own=False)
    return SeenPupil(own[0], own[1], iris.iris_radius_px, sure, own=True)


def _own_middle(grey: GreyImage, iris: Pupil) -> tuple[float, float] | None:
    """The middle of the circle on the pupil's edge, in px of the photo; None where the edge does not show."""
    if iris.iris_radius_px < LEAST_RADIUS_PX:
        return None
    # Where a lid has drawn the iris up or down, the pupil is looked for from places above and below its middle.
    tried = (_from_start(grey, iris, up * iris.iris_radius_px) for up in STARTS)
    return next((one for one in tried if one is not None), None)


def _from_start(grey: GreyImage, iris: Pupil, down_px: float) -> tuple[float, float] | None:
    """The middle of a circle that enough rays agree on, looked for from a place below the middle of the iris."""
    radius = iris.iris_radius_px
    x, y, size = iris.x_px - 0.5, iris.y_px - 0.5 + down_px, 0.0
    angles = np.linspace(0, 2 * np.pi, RAYS, endpoint=False)
    steps = np.arange(EDGES[0] * radius - 2, EDGES[1] * radius + 2, 0.25)
    for _ in range(3):
        map_x = (x + np.outer(np.cos(angles), steps)).astype(np.float32)
        map_y = (y + np.outer(np.sin(angles), steps)).astype(np.float32)
        profile = cv2.remap(grey, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).astype(np.float64)
        slope = np.gradient(cv2.GaussianBlur(profile, (0, 0), sigmaX=max(1.0, 0.04 * radius / 0.25)), axis=1)
        fitted = _most_alike(slope, steps, angles, radius)
        if fitted is None:
            return None
        dx, dy, size = fitted
        x, y = x + dx, y + dy
    off = abs(x + 0.5 - iris.x_px) / radius, abs(y + 0.5 - iris.y_px) / radius
    fits = off[0] <= OFF_MIDDLE[0] and off[1] <= OFF_MIDDLE[1] and EDGES[0] <= size / radius <= EDGES[1]
    return (x + 0.5, y + 0.5) if fits else None


def _most_alike(
    slope: FloatArray, steps: FloatArray, angles: FloatArray, radius: float
) -> tuple[float, float, float] | None:
    """Shift and radius of the circle that most rays agree on; None if too few show a rise there."""
    at = steps[np.argmax(slope, axis=1)]
    rise = np.max(slope, axis=1) / 0.25 * radius * 0.1
    shift = np.zeros(2)
    size = float(np.median(at[rise > LEAST_RISE])) if np.any(rise > LEAST_RISE) else 0.0
    keep = np.zeros(len(at), dtype=bool)
    for _ in range(4):
        expected = size + shift[0] * np.cos(angles) + shift[1] * np.sin(angles)
        keep = (np.abs(at - expected) < ALIKE * radius) & (rise > LEAST_RISE)
        if keep.mean() < LEAST_RAYS:
            return None
        system = np.column_stack([np.cos(angles), np.sin(angles), np.ones(len(angles))])[keep]
        solution, *_ = np.linalg.lstsq(system, at[keep], rcond=None)
        shift, size = solution[:2], float(solution[2])
    return float(shift[0]), float(shift[1]), size
