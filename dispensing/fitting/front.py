"""The front photo: from marks to PD, heights, box sizes, camera distance and posture, for a whole batch at once.

It must never know about spreads or documents' text: it takes columns of numbers and gives columns of figures.

Derivation, in the axes of the head (see ``camera``). The lens plane is vertical. The eye turns about a point C that
lies s = vertex + 13.5 mm behind the lens plane. Looking straight ahead and level, the line of sight passes through C
along Z, so it meets the lens plane at C's own X and Y: these are the PD and the height.

*Looking at the camera*: C, pupil and camera are in line, so the ray q to the pupil is the ray to C, and
C = (D + s) · q from the camera's foot; the same place in the lens plane is only D · q. *Looking far*: the pupil lies
vertex + 3 mm behind the lens plane; P = (D + vertex + 3) · q, and C lies 10.5 mm behind P along the line of sight,
which keeps to the world's straight ahead even where the head does not.

The foot of the camera is the middle of the photo, because the camera looks level and straight ahead. What remains of
a camera that does not is a shift e of all rays by e / D: it cancels between marks of the lens plane and leaves
e · s / D in the PD or the height.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from dispensing.fitting.anatomy import (
    CORNEA_TO_CENTRE_OF_ROTATION_MM,
    CORNEA_TO_PUPIL_MM,
    USUAL_VERTEX_MM,
    near_pd_mm,
)
from dispensing.fitting.arrays import Columns, ComplexArray, Figures, FloatArray, pixel_point
from dispensing.fitting.camera import (
    FAR_ENOUGH_PX,
    KnownLength,
    distance_from_span_mm,
    focal_length_px,
    roll_rad,
    turned_back,
)
from dispensing.fitting.documents import EYES, Eye
from dispensing.fitting.inputs import BOX_MARKS
from dispensing.fitting.posture import head_turn_rad

Boxes = Mapping[Eye, Mapping[str, ComplexArray]]


@dataclass(frozen=True)
class FrontSetup:
    """What is certain about a front photo. ``in_front_mm``: the known length's distance before the lens plane."""

    middle_px: complex
    gaze: Literal["camera", "far"] | None
    scale_by: Literal["frame", "card", "length"] | None
    in_front_mm: float
    near_distance_mm: float


@dataclass(frozen=True)
class Camera:
    """The camera as the photo shows it.

    ``by_focal_mm``: the distance that the given focal length alone would tell. ``known``: 1 where the distance is
    known, NaN where it only stands for "far".
    """

    focal_px: FloatArray
    distance_mm: FloatArray
    by_focal_mm: FloatArray
    known: FloatArray


def front_figures(columns: Columns, setup: FrontSetup, vertex_mm: FloatArray) -> Figures:
    """All figures of the front photo; NaN where the marks do not tell. ``vertex_mm`` may be NaN (not measured)."""
    roll, boxes, ends = _levelled(columns, setup)
    camera = _camera(columns, setup, boxes, ends)
    seen = _rays(boxes, camera.focal_px)
    turn = np.radians(columns["front.head_turn_deg"])
    chin = np.radians(columns["front.chin_deg"])
    rays = {eye: {mark: turned_back(ray, turn, chin) for mark, ray in marks.items()} for eye, marks in seen.items()}
    plane = {eye: {mark: camera.distance_mm * ray for mark, ray in marks.items()} for eye, marks in rays.items()}
    vertex = np.where(np.isfinite(vertex_mm), vertex_mm, USUAL_VERTEX_MM)
    stop = vertex + CORNEA_TO_CENTRE_OF_ROTATION_MM + columns["front.centre_of_rotation_mm"]
    shift = columns["front.camera_sideways_mm"] + 1j * columns["front.camera_up_mm"]
    figures = _box_figures(plane)
    centres = {}
    for eye in EYES:
        ray = rays[eye]["pupil"] + shift / camera.distance_mm
        centres[eye] = _centre_of_rotation(ray, camera.distance_mm, setup, vertex, stop, turn, chin)
        figures |= _eye_figures(eye, centres[eye] - shift, plane, setup, stop, camera.known)
    figures["binocular_pd_mm"] = figures["right.pd_mm"] + figures["left.pd_mm"]
    figures |= _camera_figures(camera, (centres["right"] + centres["left"]) / 2)
    figures["pupils_difference_mm"] = (centres["right"] - centres["left"]).imag * camera.known
    figures["head_turn_deg"] = np.degrees(head_turn_rad(seen)) * camera.known
    figures["roll_deg"] = np.degrees(roll)
    return figures


def _levelled(columns: Columns, setup: FrontSetup) -> tuple[FloatArray, Boxes, tuple[ComplexArray, ComplexArray]]:
    """Roll, and all marks from the middle of the photo, x to the right and y up, with the roll taken out."""

    def from_middle(name: str) -> ComplexArray:
        point: ComplexArray = np.conj(pixel_point(columns, name) - setup.middle_px)
        return point

    raw = {eye: {mark: from_middle(f"front.{eye}.{mark}") for mark in BOX_MARKS} for eye in EYES}
    roll = roll_rad(raw["right"], raw["left"])
    level: ComplexArray = np.exp(-1j * roll)
    boxes = {eye: {mark: point * level for mark, point in marks.items()} for eye, marks in raw.items()}
    ends = (from_middle("front.scale.ends.0") * level, from_middle("front.scale.ends.1") * level)
    return roll, boxes, ends


def _camera(columns: Columns, setup: FrontSetup, boxes: Boxes, ends: tuple[ComplexArray, ComplexArray]) -> Camera:
    """Focal length and distance from what is given: one of the two follows from the other by the scale."""
    turn = np.radians(columns["front.head_turn_deg"])
    chin = np.radians(columns["front.chin_deg"])
    known = KnownLength(
        columns["front.scale.length_mm"],
        _box_centres(boxes) if setup.scale_by == "frame" else ends,
        setup.in_front_mm,
    )
    given = columns["front.camera_distance_mm"]
    span_px = np.abs(known.ends_px[1] - known.ends_px[0])
    by_focal = distance_from_span_mm(known, span_px / columns["front.focal_px"])
    focal = focal_length_px(columns["front.focal_px"], given, known, span_px)
    distance_known = np.isfinite(focal)
    if setup.in_front_mm == 0:
        focal = np.where(distance_known, focal, FAR_ENOUGH_PX)
    first, second = (turned_back(end / focal, turn, chin) for end in known.ends_px)
    distance = distance_from_span_mm(known, np.abs(second - first))
    distance = np.where(np.isfinite(distance), distance, given)
    return Camera(focal, distance, by_focal, np.where(distance_known, 1.0, np.nan))


def _box_centres(boxes: Boxes) -> tuple[ComplexArray, ComplexArray]:
    return _box_centre(boxes["right"]), _box_centre(boxes["left"])


def _box_centre(marks: Mapping[str, ComplexArray]) -> ComplexArray:
    """Halfway between nasal and temporal across, halfway between top and bottom up."""
    across: FloatArray = (marks["nasal"].real + marks["temporal"].real) / 2
    centre: ComplexArray = across + 0.5j * (marks["top"].imag + marks["bottom"].imag)
    return centre


def _rays(boxes: Boxes, focal_px: FloatArray) -> Boxes:
    return {eye: {mark: point / focal_px for mark, point in marks.items()} for eye, marks in boxes.items()}


def _centre_of_rotation(
    ray: ComplexArray,
    distance_mm: FloatArray,
    setup: FrontSetup,
    vertex_mm: FloatArray,
    stop_mm: FloatArray,
    turn_rad: FloatArray,
    chin_rad: FloatArray,
) -> ComplexArray:
    """The place of C across and up, in mm from the camera's foot."""
    if setup.gaze == "camera":
        return (distance_mm + stop_mm) * ray
    if setup.gaze == "far":
        pupil = (distance_mm + vertex_mm + CORNEA_TO_PUPIL_MM) * ray
        behind = stop_mm - vertex_mm - CORNEA_TO_PUPIL_MM
        looked_aside: ComplexArray = behind * (np.sin(turn_rad) + 1j * np.sin(chin_rad))
        return pupil + looked_aside
    return np.full_like(ray, np.nan)


def _box_figures(plane: Boxes) -> Figures:
    figures: Figures = {}
    for eye in EYES:
        marks = plane[eye]
        figures[f"{eye}.a_mm"] = np.abs(marks["nasal"].real - marks["temporal"].real)
        figures[f"{eye}.b_mm"] = np.abs(marks["top"].imag - marks["bottom"].imag)
    figures["dbl_mm"] = plane["left"]["nasal"].real - plane["right"]["nasal"].real
    return figures


def _eye_figures(
    eye: Eye,
    centre: ComplexArray,
    plane: Boxes,
    setup: FrontSetup,
    stop_mm: FloatArray,
    known: FloatArray,
) -> Figures:
    bridge = (plane["right"]["nasal"].real + plane["left"]["nasal"].real) / 2
    outwards = -1.0 if eye == "right" else 1.0
    pd = outwards * (centre.real - bridge) * known
    return {
        f"{eye}.pd_mm": pd,
        f"{eye}.near_pd_mm": near_pd_mm(pd, setup.near_distance_mm, stop_mm),
        f"{eye}.height_mm": (centre.imag - plane[eye]["bottom"].imag) * known,
    }


def _camera_figures(camera: Camera, between_eyes: ComplexArray) -> Figures:
    return {
        "camera_distance_mm": camera.distance_mm * camera.known,
        "distance_by_focal_mm": camera.by_focal_mm,
        "camera_above_eyes_mm": -between_eyes.imag * camera.known,
        "camera_sideways_mm": -between_eyes.real * camera.known,
    }
