"""Rays from the camera: turning them back into the axes of the head, and laying a bent front flat.

It knows angles only, and must never know about eyes, scales or millimetres.

Derivation. Put the head at rest in axes fixed to it: X towards the wearer's left (the right of the photo), Y up, Z out
of the face; the lens plane is Z = 0 and the camera stands at Z = D. A point (X, Y, Z) is seen along the ray q = (X -
X_camera) / (D - Z) (across; likewise up), and the photo shows q · f pixels from its middle, f being the focal length in
pixels. A head turned by t and lifted by c (chin up) is at rest again once the rays are turned back: across, tan(α)
becomes tan(α + t); up, tan(β) becomes tan(β + c).

A front with face form w is bent back at the nasal sides: the temporal side of a lens of width A lies A · sin w behind
the lens plane and A · cos w beside the nasal side. So D · q_nasal + A · cos w = (D + A · sin w) · q_temporal, and A = D
· (q_temporal - q_nasal) / (cos w - q_temporal · sin w), all taken outwards from the bridge: dividing the span of the
rays by the bracket lays the lens flat in the plane.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from dispensing.fitting.arrays import ComplexArray, FloatArray
from dispensing.fitting.documents import Eye

Box = Mapping[str, ComplexArray]
Boxes = Mapping[Eye, Box]


def rays_of(boxes: Boxes, focal_px: FloatArray) -> Boxes:
    """The rays to marks given in pixels from the middle of the photo, x + iy, y up."""
    return {eye: {mark: point / focal_px for mark, point in box.items()} for eye, box in boxes.items()}


def turned_back(rays: ComplexArray, turn_rad: FloatArray, chin_rad: FloatArray) -> ComplexArray:
    """The rays as they would be seen in the axes of a head turned to its left by ``turn_rad``, chin up ``chin_rad``."""
    cos_turn, sin_turn, cos_chin, sin_chin = np.cos(turn_rad), np.sin(turn_rad), np.cos(chin_rad), np.sin(chin_rad)
    nearer: FloatArray = cos_turn - rays.real * sin_turn
    across: FloatArray = (rays.real * cos_turn + sin_turn) / nearer
    up: FloatArray = rays.imag / nearer
    depth: FloatArray = cos_chin - up * sin_chin
    turned: ComplexArray = across / depth + 1j * (up * cos_chin + sin_chin) / depth
    return turned


def boxes_turned_back(boxes: Boxes, turn_rad: FloatArray, chin_rad: FloatArray) -> Boxes:
    return {
        eye: {mark: turned_back(ray, turn_rad, chin_rad) for mark, ray in box.items()} for eye, box in boxes.items()
    }


def laid_flat(boxes: Boxes, face_form_rad: FloatArray) -> Boxes:
    """The rays with each temporal mark brought into the lens plane; nothing changes for a flat front."""
    if not np.any(face_form_rad):
        return boxes
    flat: dict[Eye, Box] = {}
    for eye, box in boxes.items():
        outwards = -1.0 if eye == "right" else 1.0
        nasal, temporal = box["nasal"], box["temporal"]
        bracket = np.cos(face_form_rad) - outwards * temporal.real * np.sin(face_form_rad)
        across: FloatArray = nasal.real + (temporal.real - nasal.real) / bracket
        flat[eye] = {**box, "temporal": across + 1j * temporal.imag}
    return flat


def box_centre(box: Box) -> ComplexArray:
    """Halfway between nasal and temporal across, halfway between top and bottom up."""
    across: FloatArray = (box["nasal"].real + box["temporal"].real) / 2
    centre: ComplexArray = across + 0.5j * (box["top"].imag + box["bottom"].imag)
    return centre


def roll_rad(boxes: Boxes) -> FloatArray:
    """How far the line through the two box centres is turned, anticlockwise as the photo is seen, in radians.

    A box stands square to the frame, so its centre is as high as the midpoint of its top and bottom marks, measured
    along the frame's own upright. The centres are level when the line joining those two midpoints is. Where a top or
    bottom is missing, the midpoints of nasal and temporal are used instead.
    """
    right, left = boxes["right"], boxes["left"]
    upright = np.angle((left["top"] + left["bottom"]) - (right["top"] + right["bottom"]))
    across = np.angle((left["nasal"] + left["temporal"]) - (right["nasal"] + right["temporal"]))
    roll: FloatArray = np.where(np.isnan(upright), across, upright)
    return roll
