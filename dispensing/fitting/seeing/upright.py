"""An upright, level picture of the part of a face round the eyes, at a fixed scale, and the edges in it.

Places in it are in mm from its middle; a frame is looked for there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.seeing.face import RgbImage

PX_PER_MM = 4.0
HALF_MM = (88.0, 48.0)
SOFT_MM = 0.25

Plane = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Upright:
    """``planes``: lightness, and how much redder than blue; ``upright``, ``level``: how strong such edges are.

    ``into``: the affine map (2 × 3) from the photo.
    """

    planes: tuple[Plane, ...]
    upright: FloatArray
    level: FloatArray
    into: FloatArray


def upright_picture(photo: RgbImage, middle: FloatArray, px_per_mm: float, lean_deg: float) -> Upright:
    """The picture about a place of the photo, turned by ``lean_deg``; ``px_per_mm`` of the photo."""
    scale, lean = PX_PER_MM / px_per_mm, np.radians(lean_deg)
    turn = scale * np.array([[np.cos(lean), np.sin(lean)], [-np.sin(lean), np.cos(lean)]])
    size = [round(2 * half * PX_PER_MM) for half in HALF_MM]
    into = np.column_stack([turn, np.array(size) / 2 - turn @ (middle - 0.5) - 0.5])
    flat = cv2.warpAffine(photo, into, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    planes = tuple(np.asarray(cv2.GaussianBlur(one, (0, 0), SOFT_MM * PX_PER_MM), np.float32) for one in _planes(flat))
    found = [np.abs(cv2.Sobel(planes[0], cv2.CV_32F, 1 - axis, axis)) for axis in (0, 1)]
    # Beyond a middling edge a stronger one counts little more: a bright reflection must not outvote a rim.
    middling = [float(np.percentile(one, 85)) + 1.0 for one in found]
    upright, level = (one / (one + usual) for one, usual in zip(found, middling, strict=True))
    return Upright(planes, upright.astype(np.float64), level.astype(np.float64), into)


def _planes(flat: npt.NDArray[Any]) -> tuple[Plane, ...]:
    # A rim as light as the skin beside it is hardly ever as red: the second plane shows it.
    red, blue = flat[..., 0].astype(np.float32), flat[..., 2].astype(np.float32)
    return np.asarray(cv2.cvtColor(flat, cv2.COLOR_RGB2GRAY), np.float32), red - blue


def in_px(mm: Any, axis: int) -> Any:
    """Where a place in mm lies in the upright picture, counted as OpenCV does, from the middle of the first pixel."""
    return (np.asarray(mm) + HALF_MM[axis]) * PX_PER_MM - 0.5


def in_mm(px: Any, axis: int) -> Any:
    """The other way round."""
    return (np.asarray(px) + 0.5) / PX_PER_MM - HALF_MM[axis]


def on_photo(picture: Upright, x_mm: float, y_mm: float) -> tuple[float, float]:
    """A place of the upright picture in px of the photo, as marks are counted."""
    flat = np.array([in_px(x_mm, 0), in_px(y_mm, 1)])
    x, y = np.linalg.inv(picture.into[:, :2]) @ (flat - picture.into[:, 2]) + 0.5
    return float(x), float(y)
