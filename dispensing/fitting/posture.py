"""How far the head is turned, as far as the marks themselves show it.

It must never know about eyes: only the two boxes speak, which are equal in truth.

Derivation. Seen by a camera straight ahead, a flat front that is turned shows the nearer box larger. Turning the rays
back by θ changes a box's width as the derivative of tan(α + θ), so the logarithm of (left width / right width) grows
by 2 · Δq for a radian, Δq being the angle between the box centres; that of the heights by Δq. Both are brought to
zero by Newton steps, widths and heights weighted by the precision with which marks show them. With marks good to
1.5 px this is as coarse as the usual spread of a head turn, or coarser (see the tests), so it is reported and doubted
and never used to move a PD.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from dispensing.fitting.arrays import ComplexArray, FloatArray
from dispensing.fitting.camera import turned_back
from dispensing.fitting.documents import Eye

NEWTON_STEPS = 3


def head_turn_rad(rays: Mapping[Eye, Mapping[str, ComplexArray]]) -> FloatArray:
    """The turn that makes both boxes equal; + is turned to the wearer's own left. A flat front is taken for granted.

    ``rays``: marks of each eye in the levelled photo, divided by the focal length.
    """
    right, left = rays["right"], rays["left"]
    apart: FloatArray = (left["nasal"] + left["temporal"] - right["nasal"] - right["temporal"]).real / 2
    turn: FloatArray = np.zeros_like(apart)
    level = np.zeros_like(apart)
    for _ in range(NEWTON_STEPS):
        widths = [np.abs(_span(box, "nasal", "temporal", turn, level).real) for box in (right, left)]
        heights = [np.abs(_span(box, "top", "bottom", turn, level).imag) for box in (right, left)]
        by_width = np.log(widths[1] / widths[0]) / (2 * apart)
        by_height = np.log(heights[1] / heights[0]) / apart
        weight_width = 4 * (widths[0] + widths[1]) ** 2
        weight_height = (heights[0] + heights[1]) ** 2
        turn = turn - (by_width * weight_width + by_height * weight_height) / (weight_width + weight_height)
    return turn


def _span(
    box: Mapping[str, ComplexArray], first: str, second: str, turn_rad: FloatArray, chin_rad: FloatArray
) -> ComplexArray:
    return turned_back(box[first], turn_rad, chin_rad) - turned_back(box[second], turn_rad, chin_rad)
