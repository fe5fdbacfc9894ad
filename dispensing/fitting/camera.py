"""The pinhole camera before the wearer: from marks on the photo to rays, the camera distance and millimetres.

It knows lengths, angles and pixels, and must never know about eyes or lenses as such.

Derivation. Put the head at rest in axes fixed to it: X towards the wearer's left (the right of the photo), Y up, Z
out of the face; the lens plane is Z = 0 and the camera stands at Z = D. A point (X, Y, Z) is seen along the ray
q = (X - X_camera) / (D - Z) (across; likewise up), and the photo shows q · f pixels from its middle, f being the
focal length in pixels. So a ray meets the plane Z at X - X_camera = (D - Z) · q. A known length L that lies a
distance g in front of the lens plane and spans Δq gives D = L / |Δq| + g.

A head that is turned by t and lifted by c (chin up) is at rest again once the rays are turned back: across,
tan(α) becomes tan(α + t); up, tan(β) becomes tan(β + c).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from dispensing.fitting.arrays import ComplexArray, FloatArray

FAR_ENOUGH_PX = 1e7
"""Focal length taken where none is known: so long that the photo is a plain scaled drawing without perspective."""


@dataclass(frozen=True)
class KnownLength:
    """A length in mm, its two ends in the levelled photo, and how far before the lens plane it lies."""

    length_mm: FloatArray
    ends_px: tuple[ComplexArray, ComplexArray]
    in_front_mm: float


def roll_rad(right: Mapping[str, ComplexArray], left: Mapping[str, ComplexArray]) -> FloatArray:
    """How far the line through the two box centres is turned, anticlockwise as the photo is seen, in radians.

    A box stands square to the frame, so its centre is as high as the midpoint of its top and bottom marks, measured
    along the frame's own upright. Both centres are level when the line joining those two midpoints is. Where a top
    or bottom is missing the midpoints of nasal and temporal serve.
    """
    upright = np.angle((left["top"] + left["bottom"]) - (right["top"] + right["bottom"]))
    across = np.angle((left["nasal"] + left["temporal"]) - (right["nasal"] + right["temporal"]))
    roll: FloatArray = np.where(np.isnan(upright), across, upright)
    return roll


def focal_length_px(
    focal_px: FloatArray, distance_mm: FloatArray, known: KnownLength, span_px: FloatArray
) -> FloatArray:
    """The focal length: where the distance was measured it follows from the scale, else as the camera tells it."""
    from_scale = (distance_mm - known.in_front_mm) * span_px / known.length_mm
    return np.where(np.isfinite(from_scale), from_scale, focal_px)


def turned_back(rays: ComplexArray, turn_rad: FloatArray, chin_rad: FloatArray) -> ComplexArray:
    """The rays as they would be seen in the axes of a head turned to its left by ``turn_rad``, chin up ``chin_rad``."""
    cos_turn, sin_turn, cos_chin, sin_chin = np.cos(turn_rad), np.sin(turn_rad), np.cos(chin_rad), np.sin(chin_rad)
    nearer: FloatArray = cos_turn - rays.real * sin_turn
    across: FloatArray = (rays.real * cos_turn + sin_turn) / nearer
    up: FloatArray = rays.imag / nearer
    depth: FloatArray = cos_chin - up * sin_chin
    turned: ComplexArray = across / depth + 1j * (up * cos_chin + sin_chin) / depth
    return turned


def distance_from_span_mm(known: KnownLength, span: FloatArray) -> FloatArray:
    """Camera to lens plane, from the angle under which the known length is seen (``span``: |Δq|)."""
    return known.length_mm / span + known.in_front_mm
