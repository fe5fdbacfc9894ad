"""A wearer in front of a pinhole camera: what a photo would show, drawn from the written contract alone.

Millimetres; x to the viewer's right, y up from the box centres, z from the lens plane towards the camera. Pixels from
the top-left corner. This must never import the program: it draws the marks that `measure_fitting` then has to undo.
"""

from __future__ import annotations

import io
import json
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dispensing.fitting.command import run

Document = dict[str, Any]
Pixel = list[float]
Point = tuple[float, float, float]
WIDTH_PX, HEIGHT_PX = 4000, 3000
CARD_MM = 85.60


@dataclass(frozen=True)
class Wearer:
    """A frame and the eyes behind it; heights from the lowest point of the lens."""

    a_mm: float = 52.0
    b_mm: float = 38.0
    dbl_mm: float = 18.0
    right_pd_mm: float = 31.0
    left_pd_mm: float = 32.5
    right_height_mm: float = 21.0
    left_height_mm: float = 22.0
    vertex_mm: float = 13.5

    def eye(self, side: str, behind_mm: float) -> Point:
        """The point of the straight-ahead line of sight that lies `behind_mm` behind the lens plane."""
        pd = -self.right_pd_mm if side == "right" else self.left_pd_mm
        height = self.right_height_mm if side == "right" else self.left_height_mm
        return pd, height - self.b_mm / 2, -behind_mm


@dataclass(frozen=True)
class Camera:
    """Level, aimed straight ahead of the wearer, perhaps off the middle and rolled about its own axis."""

    distance_mm: float = 600.0
    focal_px: float = 3300.0
    right_mm: float = 0.0
    up_mm: float = 0.0
    roll_deg: float = 0.0

    def sees(self, point: Point) -> Pixel:
        """Where a point is drawn."""
        depth = self.distance_mm - point[2]
        x = self.focal_px * (point[0] - self.right_mm) / depth
        y = -self.focal_px * (point[1] - self.up_mm) / depth
        turn = math.radians(self.roll_deg)
        return [
            WIDTH_PX / 2 + x * math.cos(turn) - y * math.sin(turn),
            HEIGHT_PX / 2 + x * math.sin(turn) + y * math.cos(turn),
        ]


def front_photo(wearer: Wearer, camera: Camera, *, gaze: str = "camera", scale: str = "frame") -> Document:
    """The front part of a ``fitting-points/1``."""
    behind = wearer.vertex_mm + (13.5 if gaze == "camera" else 3.0)
    front: Document = {
        "width_px": WIDTH_PX,
        "height_px": HEIGHT_PX,
        "focal_px": camera.focal_px,
        "camera_distance_mm": None,
        "gaze": gaze,
        "scale": _scale(wearer, camera, scale),
        "mark_sd_px": 1.5,
    }
    for side, outwards in (("right", -1), ("left", 1)):
        nasal, temporal = outwards * wearer.dbl_mm / 2, outwards * (wearer.dbl_mm / 2 + wearer.a_mm)
        middle = (nasal + temporal) / 2
        front[side] = {
            "pupil": camera.sees(wearer.eye(side, behind)),
            "nasal": camera.sees((nasal, 0.0, 0.0)),
            "temporal": camera.sees((temporal, 0.0, 0.0)),
            "top": camera.sees((middle, wearer.b_mm / 2, 0.0)),
            "bottom": camera.sees((middle, -wearer.b_mm / 2, 0.0)),
        }
    return front


def _scale(wearer: Wearer, camera: Camera, by: str) -> Document:
    if by == "frame":
        return {"by": "frame", "a_mm": wearer.a_mm, "dbl_mm": wearer.dbl_mm}
    if by == "card":
        ends = [camera.sees((x, 30.0, 12.0)) for x in (-CARD_MM / 2, CARD_MM / 2)]
        return {"by": "card", "ends": ends, "in_front_of_lens_plane_mm": 12.0}
    ends = [camera.sees((x, -25.0, 0.0)) for x in (-20.0, 20.0)]
    return {"by": "length", "length_mm": 40.0, "ends": ends}


def side_photo(vertex_mm: float, pantoscopic_deg: float, *, level_deg: float = 0.0, px_a_mm: float = 10.0) -> Document:
    """The side part: the wearer faces the right of the photo, which may be taken askew by `level_deg`."""
    lean, depth_mm = math.tan(math.radians(pantoscopic_deg)), 38.0
    turn = math.radians(level_deg)

    def drawn(forwards_mm: float, down_mm: float) -> Pixel:
        x, y = forwards_mm * px_a_mm, down_mm * px_a_mm
        return [900 + x * math.cos(turn) - y * math.sin(turn), 1600 + x * math.sin(turn) + y * math.cos(turn)]

    top, bottom = drawn(vertex_mm + 10 * lean, -10.0), drawn(vertex_mm - (depth_mm - 10) * lean, depth_mm - 10)
    length = math.hypot(depth_mm, depth_mm * lean)
    return {
        "width_px": 3000,
        "height_px": 4000,
        "rim_top": top,
        "rim_bottom": bottom,
        "cornea": drawn(0.0, 0.0),
        "level": [drawn(-50.0, 50.0), drawn(150.0, 50.0)],
        "scale": {"by": "length", "length_mm": length, "ends": [top, bottom]},
        "mark_sd_px": 1.5,
    }


def measured(folder: Path, front: Document | None, side: Document | None = None, **others: Any) -> Document:
    """The ``fitting/1`` of the marks."""
    path = folder / "points.json"
    path.write_text(json.dumps({"format": "fitting-points/1", "front": front, "side": side, **others}))
    out, err = io.StringIO(), io.StringIO()
    assert run([str(path)], out, err) == 0, err.getvalue()
    fitting: Document = json.loads(out.getvalue())
    return fitting
