"""The pinhole camera in front of the wearer: its focal length and distance, from whatever is known of either.

This module knows the scale and the rays, and must never know about eyes.

Derivation. A ray q meets the plane Z at X - X_camera = (D - Z) · q (see ``rays``). A known length L that lies a
distance g in front of the lens plane and spans Δq gives D = L / |Δq| + g. In pixels the span is f · |Δq|, so f and D
follow from each other: a measured D gives f = (D - g) · span / L.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from dispensing.fitting.arrays import Columns, ComplexArray, FloatArray
from dispensing.fitting.documents import Eye
from dispensing.fitting.rays import Boxes, box_centre, boxes_turned_back, laid_flat, rays_of, turned_back

FAR_ENOUGH_PX = 1e7
"""Focal length used where none is known: so long that the photo is simply a scaled drawing without perspective."""

FOCAL_PASSES = 3
"""Focal length and face form depend on each other; after three passes nothing changes."""


@dataclass(frozen=True)
class Levelled:
    """The marks of a front photo in pixels from its middle, y up, with the roll taken out."""

    boxes: Boxes
    scale_ends: tuple[ComplexArray, ComplexArray]
    reflections: Mapping[Eye, ComplexArray] = field(default_factory=dict)


@dataclass(frozen=True)
class Camera:
    """The camera as the photo shows it.

    ``by_focal_mm``: the distance that the given focal length alone would give. ``known``: 1 where the distance is
    known, NaN where it only means "far". ``rays``: the boxes' rays in the axes of the head, laid flat.
    """

    focal_px: FloatArray
    distance_mm: FloatArray
    by_focal_mm: FloatArray
    known: FloatArray
    rays: Boxes


def find_camera(columns: Columns, marks: Levelled, between_box_centres: bool) -> Camera:
    """Focal length and distance from what is given. A given distance takes precedence over a given focal length.

    ``between_box_centres``: whether the known length runs between the box centres or between two ends of its own.
    """
    turn, chin, face_form = (np.radians(columns[f"front.{name}_deg"]) for name in ("head_turn", "chin", "face_form"))
    # A camera that points up sees a level head as if its chin were up by as much.
    chin = chin + np.radians(columns["front.camera_pitch_deg"])
    given = columns["front.camera_distance_mm"]
    in_front = columns["front.scale.in_front_mm"]
    if between_box_centres:
        length = columns["front.scale.a_mm"] + columns["front.scale.dbl_mm"]
    else:
        length = columns["front.scale.length_mm"]
    stated = columns["front.focal_px"]
    focal = np.where(np.isfinite(stated), stated, FAR_ENOUGH_PX)
    by_focal = length / _span(marks, between_box_centres, stated, face_form) + in_front
    for _ in range(FOCAL_PASSES if np.any(face_form) else 1):
        span_px = focal * _span(marks, between_box_centres, focal, face_form)
        by_distance = (given - in_front) * span_px / length
        focal = np.where(np.isfinite(by_distance), by_distance, focal)
    known = np.isfinite(by_distance) | np.isfinite(stated)
    rays = laid_flat(boxes_turned_back(rays_of(marks.boxes, focal), turn, chin), face_form)
    ends = [turned_back(end / focal, turn, chin) for end in marks.scale_ends]
    distance = length / _known_span(rays, ends, between_box_centres) + in_front
    # Without perspective, a length in front of the lens plane says nothing about lengths in it.
    usable = np.where(in_front == 0, np.isfinite(focal), known)
    distance = np.where(usable, np.where(np.isfinite(distance), distance, given), np.nan)
    return Camera(focal, distance, by_focal, np.where(known, 1.0, np.nan), rays)


def _span(marks: Levelled, between_box_centres: bool, focal_px: FloatArray, face_form_rad: FloatArray) -> FloatArray:
    """|Δq| of the known length for a head at rest."""
    ends = [end / focal_px for end in marks.scale_ends]
    return _known_span(laid_flat(rays_of(marks.boxes, focal_px), face_form_rad), ends, between_box_centres)


def _known_span(rays: Boxes, ends: list[ComplexArray], between_box_centres: bool) -> FloatArray:
    first, second = (box_centre(rays["right"]), box_centre(rays["left"])) if between_box_centres else ends
    return np.abs(second - first)
