"""From the visible rim to the lens's own edge, and from the upright lens plane to the tilted lens.

It works on marks laid into the lens plane, in mm from the camera's foot, and must never know about pixels or eyes.

Derivation. A lens tilted by t about the level line through its box centre has, a length u above that line, its point at
Y = Yc + u · cos t, and u · sin t nearer to the camera. It is seen along q, so Y = (D - u · sin t) · q, and u = (D · q -
Yc) / (cos t + q · sin t). The level line of sight at the height Y meets the lens at u = (Y - Yc) / cos t. Labs measure
a height along the lens, from its lowest point.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from dispensing.fitting.arrays import ComplexArray, Figures, FloatArray
from dispensing.fitting.camera import Camera
from dispensing.fitting.documents import Eye
from dispensing.fitting.rays import Box, Boxes


def to_the_lens_edge(plane: Boxes, groove_mm: FloatArray) -> Boxes:
    """Boxes round what shows of the lenses, made larger on every side by what the groove hides."""
    larger: dict[Eye, Box] = {}
    for eye, box in plane.items():
        outwards = -1.0 if eye == "right" else 1.0
        moved = {"nasal": -outwards, "temporal": outwards, "top": 1j, "bottom": -1j}
        larger[eye] = {mark: at + moved.get(mark, 0.0) * groove_mm for mark, at in box.items()}
    return larger


def along_the_tilted_lens(
    eye: Eye, sight: ComplexArray, box: Mapping[str, ComplexArray], camera: Camera, tilt_deg: FloatArray
) -> Figures:
    """``height_in_plane_mm`` and ``b_along_lens_mm``; NaN without a tilt. ``sight``: in the upright plane."""
    tilt = np.radians(tilt_deg)
    middle = (box["top"] + box["bottom"]).imag / 2

    def up(mark: str) -> FloatArray:
        seen: FloatArray = np.cos(tilt) + box[mark].imag / camera.distance_mm * np.sin(tilt)
        length: FloatArray = (box[mark].imag - middle) / seen
        return length

    return {
        f"{eye}.height_in_plane_mm": ((sight.imag - middle) / np.cos(tilt) - up("bottom")) * camera.known,
        f"{eye}.b_along_lens_mm": up("top") - up("bottom"),
    }
