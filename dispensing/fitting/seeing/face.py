"""Finds the face on a photo and the iris in each of its eyes: three networks, each looking where the last one pointed.

It hands out places in px of the photo with how sure the networks are; it must never know about frames.

The face network answers with boxes and points relative to 896 fixed places (two to each cell of a grid of 16 × 16, six
to each of 8 × 8), each with a score before the logistic function. The second network lays a mesh over the face; its
corners of the eyes tell where the third looks for the iris.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
import numpy.typing as npt

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.documents import Eye
from dispensing.fitting.seeing.networks import ask

RgbImage = npt.NDArray[np.uint8]

FACE_PX, MESH_PX, IRIS_PX = 256, 192, 64
GRIDS = ((16, 2), (8, 6))
LEAST_SCORE = 0.5
FACE_ROOM, EYE_ROOM = 1.5, 2.3
EYE_CORNERS: dict[Eye, tuple[int, int]] = {"right": (33, 133), "left": (362, 263)}
"""Numbers of the mesh's points: the corners of each eye from the left of the photo to its right."""


@dataclass(frozen=True)
class SeenIris:
    """Middle and radius of an iris in px of the photo, as the network has it."""

    x_px: float
    y_px: float
    radius_px: float


@dataclass(frozen=True)
class SeenFace:
    """``sure``: 0 to 1, how much of a face it is. ``irises``: of the wearer's own right and left eye."""

    sure: float
    irises: dict[Eye, SeenIris]


def find_face(photo: RgbImage) -> SeenFace | None:
    """The face that stands out most on a photo (rows × columns × RGB); None if there is none."""
    found = _detected(photo)
    if found is None:
        return None
    score, middle, wide, lean = found
    into_mesh = _cut(middle, FACE_ROOM * wide, lean, MESH_PX)
    answers = ask("face_landmark", _scaled(photo, into_mesh, MESH_PX, (0.0, 1.0)))
    flag, mesh = sorted(answers.values(), key=lambda answer: answer.size)
    points = _back(mesh.reshape(-1, 3)[:, :2].astype(np.float64), into_mesh)
    sure = min(score, _logistic(float(flag.ravel()[0])))
    return SeenFace(sure, {eye: _iris(photo, points, eye) for eye in EYE_CORNERS})


def _detected(photo: RgbImage) -> tuple[float, tuple[float, float], float, float] | None:
    """Score, middle, width and lean (radians) of the face with the best score."""
    rows, columns = photo.shape[:2]
    factor = FACE_PX / max(rows, columns)
    size = max(1, round(columns * factor)), max(1, round(rows * factor))
    square = np.zeros((FACE_PX, FACE_PX, 3), np.float32)
    small = cv2.resize(photo, size, interpolation=cv2.INTER_AREA)
    square[: size[1], : size[0]] = small / 127.5 - 1
    answers = ask("face_detection_back", square)
    scores = answers["classificators"].ravel()
    best = int(np.argmax(scores))
    score = _logistic(float(scores[best]))
    if score < LEAST_SCORE:
        return None
    told = answers["regressors"].reshape(-1, 16)[best].astype(np.float64)
    anchor = _anchors()[best] * FACE_PX
    middle = (anchor + told[:2]) / factor
    right, left = ((anchor + told[4 + 2 * point : 6 + 2 * point]) / factor for point in (0, 1))
    lean = math.atan2(left[1] - right[1], left[0] - right[0])
    return score, (float(middle[0]), float(middle[1])), float(max(told[2:4])) / factor, lean


@cache
def _anchors() -> FloatArray:
    places = [
        ((column + 0.5) / cells, (row + 0.5) / cells)
        for cells, each in GRIDS
        for row in range(cells)
        for column in range(cells)
        for _ in range(each)
    ]
    return np.array(places)


def _logistic(value: float) -> float:
    return 1 / (1 + math.exp(-min(max(value, -100.0), 100.0)))


def _cut(middle: tuple[float, float], wide: float, lean: float, side_px: int, mirrored: bool = False) -> FloatArray:
    """The affine map (2 × 3) from the photo into a square picture of a part of it, turned upright."""
    scale = side_px / max(wide, 1.0)
    cos, sin = scale * math.cos(lean), scale * math.sin(lean)
    across = np.array([cos, sin]) * (-1 if mirrored else 1)
    turn = np.array([across, [-sin, cos]])
    shift = side_px / 2 - turn @ np.array(middle)
    return np.column_stack([turn, shift])


def _scaled(photo: RgbImage, into: FloatArray, side_px: int, ends: tuple[float, float]) -> npt.NDArray[np.float32]:
    part = cv2.warpAffine(photo, into, (side_px, side_px), flags=cv2.INTER_AREA, borderMode=cv2.BORDER_REPLICATE)
    scaled: npt.NDArray[np.float32] = (part / 255 * (ends[1] - ends[0]) + ends[0]).astype(np.float32)
    return scaled


def _back(points: FloatArray, into: FloatArray) -> FloatArray:
    back: FloatArray = (points - into[:, 2]) @ np.linalg.inv(into[:, :2]).T
    return back


def _iris(photo: RgbImage, mesh: FloatArray, eye: Eye) -> SeenIris:
    one, other = (mesh[corner] for corner in EYE_CORNERS[eye])
    wide, lean = EYE_ROOM * float(np.hypot(*(other - one))), math.atan2(other[1] - one[1], other[0] - one[0])
    middle = (one + other) / 2
    # The network knows one side only; the other eye is shown to it in a mirror.
    into = _cut((float(middle[0]), float(middle[1])), wide, lean, IRIS_PX, mirrored=eye == "left")
    answer = ask("iris_landmark", _scaled(photo, into, IRIS_PX, (0.0, 1.0)))["output_iris"]
    points = _back(answer.reshape(-1, 3)[:, :2].astype(np.float64), into)
    centre, around = points[0], points[1:]
    return SeenIris(float(centre[0]), float(centre[1]), float(np.mean(np.hypot(*(around - centre).T))))
