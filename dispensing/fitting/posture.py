"""How far the head is turned, as far as the marks themselves show it.

It must never know about eyes: only the two boxes speak, which are equal in truth.

Derivation. Seen by a camera straight ahead, a flat front that is turned shows the nearer box larger. Turning the rays
back by θ makes tan(α) into tan(α + θ), which multiplies a box's width by 1 / (d_nasal · d_temporal) and a point's
height by 1 / d, with d = cos θ - x · sin θ at the ray x. So the logarithm of (left width / right width) grows by
2 · Δx for a radian, Δx being the span of the box centres, and that of the heights by Δx. Newton steps bring both to
zero, weighted by the precision with which marks show them. With marks good to 1.5 px this is as coarse as the usual
spread of a head turn, or coarser, so it is reported and doubted and never used to move a PD.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from dispensing.fitting.arrays import ComplexArray, FloatArray
from dispensing.fitting.documents import Eye

NEWTON_STEPS = 3


def head_turn_rad(rays: Mapping[Eye, Mapping[str, ComplexArray]]) -> FloatArray:
    """The turn that makes both boxes equal; + is turned to the wearer's own left. A flat front is taken for granted.

    ``rays``: marks of each eye in the levelled photo, divided by the focal length.
    """
    right, left = rays["right"], rays["left"]
    apart: FloatArray = (left["nasal"] + left["temporal"] - right["nasal"] - right["temporal"]).real / 2
    weight_width = 4 * (_width(right, apart * 0) + _width(left, apart * 0)) ** 2
    weight_height = (_height(right, apart * 0) + _height(left, apart * 0)) ** 2
    turn: FloatArray = np.zeros_like(apart)
    for _ in range(NEWTON_STEPS):
        by_width = np.log(_width(left, turn) / _width(right, turn)) / (2 * apart)
        by_height = np.log(_height(left, turn) / _height(right, turn)) / apart
        turn = turn - (by_width * weight_width + by_height * weight_height) / (weight_width + weight_height)
    return turn


def _width(box: Mapping[str, ComplexArray], turn_rad: FloatArray) -> FloatArray:
    nasal, temporal = box["nasal"].real, box["temporal"].real
    turned: FloatArray = np.abs(nasal - temporal) / (_depth(nasal, turn_rad) * _depth(temporal, turn_rad))
    return turned


def _height(box: Mapping[str, ComplexArray], turn_rad: FloatArray) -> FloatArray:
    top, bottom = box["top"], box["bottom"]
    turned: FloatArray = np.abs(top.imag / _depth(top.real, turn_rad) - bottom.imag / _depth(bottom.real, turn_rad))
    return turned


def _depth(across: FloatArray, turn_rad: FloatArray) -> FloatArray:
    depth: FloatArray = np.cos(turn_rad) - across * np.sin(turn_rad)
    return depth
