"""How far the head is turned, as far as the marks themselves show it.

It must never know about eyes: the only evidence is the two boxes, which in reality are equal.

Derivation. To a camera straight ahead, a flat front that is turned shows its nearer box larger. Turning the rays back
by θ makes tan(α) into tan(α + θ), which multiplies a box's width by 1 / (d_nasal · d_temporal) and a point's height by
1 / d, with d = cos θ - x · sin θ at the ray x. So the logarithm of (left width / right width) grows by 2 · Δx per
radian, Δx being the span of the box centres, and that of the heights by Δx. Newton steps bring both to zero, weighted
by how precisely the marks show them. Face form w adds 2 · tan w to the growth of the widths. With marks good to 1.5 px
the result is as coarse as the usual spread of a head turn, or coarser, so it is reported and used for doubts, but never
to move a PD.
"""

from __future__ import annotations

import numpy as np

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.rays import Box, Boxes

NEWTON_STEPS = 3


def head_turn_rad(rays: Boxes, face_form_rad: FloatArray) -> FloatArray:
    """The turn that makes both boxes equal; + means turned to the wearer's own left.

    ``rays``: marks of each eye in the levelled photo, divided by the focal length. ``face_form_rad``: 0 for a flat
    front; a bent one shows a turn more strongly in its widths.
    """
    right, left = rays["right"], rays["left"]
    apart: FloatArray = (left["nasal"] + left["temporal"] - right["nasal"] - right["temporal"]).real / 2
    growth = 2 * apart + 2 * np.tan(face_form_rad)
    turn: FloatArray = np.zeros_like(apart)
    weight_width = (growth / apart * (_width(right, turn, -face_form_rad) + _width(left, turn, face_form_rad))) ** 2
    weight_height = (_height(right, turn) + _height(left, turn)) ** 2
    for _ in range(NEWTON_STEPS):
        widths = _width(left, turn, face_form_rad) / _width(right, turn, -face_form_rad)
        heights = _height(left, turn) / _height(right, turn)
        step = np.log(widths) / growth * weight_width + np.log(heights) / apart * weight_height
        turn = turn - step / (weight_width + weight_height)
    return turn


def _width(box: Box, turn_rad: FloatArray, outward_bend_rad: FloatArray) -> FloatArray:
    """The width of a box after turning back, laid flat (see ``rays``); the bend is + for a left lens."""
    nasal, temporal = box["nasal"].real, box["temporal"].real
    depth = _depth(temporal, turn_rad)
    seen_at = (temporal * np.cos(turn_rad) + np.sin(turn_rad)) / depth
    bracket = np.cos(outward_bend_rad) - seen_at * np.sin(outward_bend_rad)
    turned: FloatArray = np.abs(nasal - temporal) / (_depth(nasal, turn_rad) * depth * bracket)
    return turned


def _height(box: Box, turn_rad: FloatArray) -> FloatArray:
    top, bottom = box["top"], box["bottom"]
    turned: FloatArray = np.abs(top.imag / _depth(top.real, turn_rad) - bottom.imag / _depth(bottom.real, turn_rad))
    return turned


def _depth(across: FloatArray, turn_rad: FloatArray) -> FloatArray:
    depth: FloatArray = np.cos(turn_rad) - across * np.sin(turn_rad)
    return depth
