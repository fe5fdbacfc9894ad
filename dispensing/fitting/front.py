"""The front photo: from marks to PD, heights, box sizes, camera distance and posture, for a whole batch at once.

It must never know about spreads or the text of documents: it takes columns of numbers and returns columns of figures.

Derivation, in the axes of the head (see ``rays``). The lens plane is vertical. The eye turns about a point C that
lies s = vertex + 13.5 mm behind the lens plane. Looking straight ahead and level, the line of sight passes through C
along Z, so it meets the lens plane at C's own X and Y: these are the PD and the height.

*Looking at the camera*: C, pupil and camera are in line, so the ray q to the pupil is the ray to C, and
C = (D + s) · q from the camera's foot; the same place in the lens plane is only D · q. *Looking far*: the pupil lies
vertex + 3 mm behind the lens plane; P = (D + vertex + 3) · q, and C lies 10.5 mm behind P along the line of sight,
which keeps to the world's straight ahead even where the head does not. *Looking beside the camera*, at a place G in
the plane of its lens: the pupil is the part k = 10.5 / |G - C| of the way from C to G, so C = (D + s) · q - G · k / (1
- k).

The foot of the camera is the middle of the photo, because the camera looks level and straight ahead; a pitch that is
known is taken out with the rays. All that remains is a shift e, which moves every ray by e / D: it cancels between
marks in the lens plane and leaves e · s / D in the PD or the height.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from dispensing.fitting.anatomy import (
    CORNEA_TO_CENTRE_OF_ROTATION_MM,
    CORNEA_TO_PUPIL_MM,
    USUAL_VERTEX_MM,
    near_pd_mm,
)
from dispensing.fitting.arrays import Columns, ComplexArray, Figures, FloatArray, pixel_point
from dispensing.fitting.camera import Camera, Levelled, find_camera
from dispensing.fitting.documents import EYES, Eye
from dispensing.fitting.inputs import BOX_MARKS
from dispensing.fitting.lens_plane import along_the_tilted_lens, to_the_lens_edge
from dispensing.fitting.posture import head_turn_rad
from dispensing.fitting.rays import Boxes, rays_of, roll_rad
from dispensing.fitting.worn_lens import Before, WornLens, seen_through


@dataclass(frozen=True)
class FrontSetup:
    """What is certain about a front photo: its middle, what the wearer looked at, and where the known length lies.

    ``looked_at_mm``: from the lens of the camera, across to the wearer's left + i · up; 0 is the lens itself.
    ``worn``: lenses of a known power through which the eyes are seen.
    """

    middle_px: complex
    gaze: Literal["camera", "far"] | None
    between_box_centres: bool
    near_distance_mm: float
    looked_at_mm: complex = 0.0
    worn: Mapping[Eye, WornLens] = field(default_factory=dict)


def front_figures(columns: Columns, setup: FrontSetup, vertex_mm: FloatArray, tilt_deg: FloatArray) -> Figures:
    """All figures of the front photo; NaN where the marks do not give them.

    ``vertex_mm`` and ``tilt_deg`` (pantoscopic) may be NaN: not measured.
    """
    roll, marks = _levelled(columns, setup)
    camera = find_camera(columns, marks, setup.between_box_centres)
    plane: Boxes = {
        eye: {mark: camera.distance_mm * ray for mark, ray in box.items()} for eye, box in camera.rays.items()
    }
    if "front.groove_mm" in columns:
        plane = to_the_lens_edge(plane, columns["front.groove_mm"])
    vertex = np.where(np.isfinite(vertex_mm), vertex_mm, USUAL_VERTEX_MM)
    stop = vertex + CORNEA_TO_CENTRE_OF_ROTATION_MM + columns["front.centre_of_rotation_mm"]
    shift = columns["front.camera_sideways_mm"] + 1j * columns["front.camera_up_mm"]
    figures = _box_figures(plane)
    centres = {}
    for eye in EYES:
        ray = camera.rays[eye]["pupil"] + shift / camera.distance_mm
        centres[eye] = _centre_of_rotation(columns, ray, camera.distance_mm, setup, vertex, stop)
        if eye in setup.worn:
            at_lens = camera.distance_mm * camera.rays[eye]["pupil"]
            depths = (stop, vertex + CORNEA_TO_PUPIL_MM)
            centres[eye] = shift + _through_the_lens(
                centres[eye] - shift, at_lens, depths, setup, _before(eye, setup.worn[eye], plane, columns)
            )
        figures |= _reflection(columns, marks, camera, eye)
        figures |= _eye_figures(eye, centres[eye] - shift, plane, setup, stop, camera.known)
        figures |= along_the_tilted_lens(eye, centres[eye] - shift, plane[eye], camera, tilt_deg)
    figures["binocular_pd_mm"] = figures["right.pd_mm"] + figures["left.pd_mm"]
    figures |= _camera_figures(camera, columns["front.camera_distance_mm"], (centres["right"] + centres["left"]) / 2)
    figures |= _reflections_compared(figures)
    figures["pupils_difference_mm"] = (centres["right"] - centres["left"]).imag * camera.known
    face_form = np.radians(columns["front.face_form_deg"])
    turn = head_turn_rad(rays_of(marks.boxes, camera.focal_px), face_form)
    # A camera that looks e to one side of its foot sees the whole head turned by a further e / D.
    figures["head_turn_deg"] = np.degrees(turn - shift.real / camera.distance_mm) * camera.known
    figures["roll_deg"] = np.degrees(roll)
    return figures


def _levelled(columns: Columns, setup: FrontSetup) -> tuple[FloatArray, Levelled]:
    """The roll, and all marks with the roll taken out."""

    def from_middle(name: str) -> ComplexArray:
        point: ComplexArray = np.conj(pixel_point(columns, name) - setup.middle_px)
        return point

    raw = {eye: {mark: from_middle(f"front.{eye}.{mark}") for mark in BOX_MARKS} for eye in EYES}
    roll = roll_rad(raw)
    level: ComplexArray = np.exp(-1j * roll)
    boxes = {eye: {mark: point * level for mark, point in box.items()} for eye, box in raw.items()}
    ends = (from_middle("front.scale.ends.0") * level, from_middle("front.scale.ends.1") * level)
    marked = [eye for eye in EYES if f"front.{eye}.reflection.x" in columns]
    reflections = {eye: from_middle(f"front.{eye}.reflection") * level for eye in marked}
    return roll, Levelled(boxes, ends, reflections)


def _centre_of_rotation(
    columns: Columns,
    ray: ComplexArray,
    distance_mm: FloatArray,
    setup: FrontSetup,
    vertex_mm: FloatArray,
    stop_mm: FloatArray,
) -> ComplexArray:
    """The place of C across and up, in mm from the camera's foot."""
    if setup.gaze == "camera":
        in_line: ComplexArray = (distance_mm + stop_mm) * ray
        if setup.looked_at_mm == 0:
            return in_line
        to_pupil = CORNEA_TO_CENTRE_OF_ROTATION_MM - CORNEA_TO_PUPIL_MM
        part = to_pupil / np.hypot(distance_mm + stop_mm, np.abs(setup.looked_at_mm - in_line))
        beside: ComplexArray = in_line - setup.looked_at_mm * part / (1 - part)
        return beside
    if setup.gaze == "far":
        pupil = (distance_mm + vertex_mm + CORNEA_TO_PUPIL_MM) * ray
        behind = stop_mm - vertex_mm - CORNEA_TO_PUPIL_MM
        turn, chin = np.radians(columns["front.head_turn_deg"]), np.radians(columns["front.chin_deg"])
        looked_aside: ComplexArray = behind * (np.sin(turn) + 1j * np.sin(chin))
        return pupil + looked_aside
    return np.full_like(ray, np.nan)


def _before(eye: Eye, lens: WornLens, plane: Boxes, columns: Columns) -> Before:
    box = plane[eye]
    bridge = (plane["right"]["nasal"].real + plane["left"]["nasal"].real) / 2
    outwards = -1.0 if eye == "right" else 1.0
    inwards = columns[f"front.{eye}.worn_in_mm"] + (columns["front.worn_in_mm"] if lens.pd_mm is None else 0.0)
    off: ComplexArray = -outwards * inwards + 1j * columns[f"front.{eye}.worn_up_mm"]
    return Before(lens, outwards, bridge, box["bottom"].imag, (box["top"] + box["bottom"]).imag / 2, off)


def _through_the_lens(
    bare: ComplexArray,
    at_lens: ComplexArray,
    depths_mm: tuple[FloatArray, FloatArray],
    setup: FrontSetup,
    before: Before,
) -> ComplexArray:
    """C where the eye is seen through a worn lens; ``depths_mm``: of C and of the pupil behind the lens."""
    stop, pupil = depths_mm
    if setup.gaze == "camera":
        return seen_through(bare, at_lens, stop, before)
    found = seen_through(bare, at_lens, pupil, before)
    level: ComplexArray = found - (stop - pupil) * before.lens.bends(found - before.centre(found))
    return level


def _reflection(columns: Columns, marks: Levelled, camera: Camera, eye: Eye) -> Figures:
    """How far nasal of the pupil's middle, and above it, the camera's light is reflected, in mm."""
    if marks.reflections.get(eye) is None:
        return {}
    off = camera.distance_mm * (marks.reflections[eye] - marks.boxes[eye]["pupil"]) / camera.focal_px
    inwards = 1.0 if eye == "right" else -1.0
    return {f"{eye}.reflection_in_mm": inwards * off.real, f"{eye}.reflection_up_mm": off.imag}


def _reflections_compared(figures: Figures) -> Figures:
    """Right less left; nothing where one is not marked."""
    if not all(f"{eye}.reflection_in_mm" in figures for eye in EYES):
        return {}
    return {
        "reflections_across_mm": figures["right.reflection_in_mm"] - figures["left.reflection_in_mm"],
        "reflections_up_mm": figures["right.reflection_up_mm"] - figures["left.reflection_up_mm"],
    }


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


def _camera_figures(camera: Camera, given_mm: FloatArray, between_eyes: ComplexArray) -> Figures:
    return {
        # A measured distance is stated as measured; the chain uses only what the scale makes of it.
        "camera_distance_mm": np.where(np.isfinite(given_mm), given_mm, camera.distance_mm * camera.known),
        "distance_by_focal_mm": camera.by_focal_mm,
        "camera_above_eyes_mm": -between_eyes.imag * camera.known,
        "camera_sideways_mm": -between_eyes.real * camera.known,
    }
