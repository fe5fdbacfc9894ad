"""Usual values for whatever nobody measured, and how far off they may be, for photos taken in a working practice.

A ``fitting-points/1`` says for itself what it takes as exact. When somebody marks photos on a page and leaves a field
empty, the usual value is used instead, and its spread counts in the ±. This module must never know about pages or the
record, and what it fills in is never kept: only what somebody marked or typed is kept.
"""

from __future__ import annotations

from typing import Any

from dispensing.fitting.documents import FittingPoints, SidePhoto, Spreads
from dispensing.fitting.known_frame import ONE_FRAME
from dispensing.trade import figure

UNMEASURED = "photo-unmeasured"

KNOWN_LENGTH_HELD_SD_MM = figure(UNMEASURED, "known_length_held_mm")
"""How closely a hand holding a card or rule keeps it at the stated distance in front of the lenses."""

USUAL_FACE_FORM_DEG = (figure(UNMEASURED, "dress_face_form_deg"), figure(UNMEASURED, "dress_face_form_sd_deg"))
"""Dress fronts as made, mostly 3 to 8°, with one standard deviation; to assume a flat front would be too optimistic."""

WRAPPED_FACE_FORM_DEG = (figure(UNMEASURED, "wrap_face_form_deg"), figure(UNMEASURED, "wrap_face_form_sd_deg"))
"""Sports fronts, mostly 13 to 23°: unmeasured, they make a binocular PD uncertain by millimetres; the ± says so."""

WRAPPED_FROM_CURVE_D = figure("wrap-base", "frame_curve_d")
"""A front of this curve (1.530) or more counts as wrapped."""

CAMERA_PITCH_SD_DEG = figure(UNMEASURED, "camera_pitch_sd_deg")
"""How far a camera held by hand points up or down where no sensor told."""

POSTURE_SD_DEG = {
    "head_turn_deg": figure(UNMEASURED, "head_turn_sd_deg"),
    "chin_deg": figure(UNMEASURED, "chin_sd_deg"),
}
"""How a head is held before a camera, against how it is held when nobody looks."""

MEASURED_FACE_FORM_SD_DEG = figure(UNMEASURED, "measured_face_form_sd_deg")

HAND_MEASURED_DISTANCE_SD_MM = figure(UNMEASURED, "camera_distance_sd_mm")
"""How closely a tape is read from a hand-held camera to a standing wearer, one standard deviation."""

LENS_IN_RIM_SD_MM = figure(UNMEASURED, "lens_in_rim_sd_mm")
"""How far the back of the lens may lie from the marked line, since from the side the rim hides the lens."""

B_BETWEEN_RIMS_SD_MM = figure(UNMEASURED, "b_between_rims_sd_mm")
"""How far the ends of the rim seen from the side may lie beyond those of the lens, over the whole of B."""

CENTRE_OF_ROTATION_SD_MM = figure(UNMEASURED, "rotation_sd_mm")
"""How far from the conventional 13.5 mm behind the cornea eyes really turn, root mean square: for turns sideways this
counts both how far their mean is from it and how much they scatter. For turns up and down they lie closer to it."""

UNMEASURED_CENTRE_OF_ROTATION_SD_MM = figure(UNMEASURED, "rotation_unmeasured_sd_mm")
"""The same from the lens plane, for when no side photo gives the vertex distance, which is mostly 11 to 16 mm."""


def usual_face_form_deg(front_curve_d: float | None) -> tuple[float, float]:
    """The face form of a front that nobody measured, and one standard deviation. ``front_curve_d``: None if unknown."""
    if front_curve_d is not None and front_curve_d >= WRAPPED_FROM_CURVE_D:
        return WRAPPED_FACE_FORM_DEG
    return USUAL_FACE_FORM_DEG


def as_worn(points: FittingPoints, *, front_curve_d: float | None = None) -> FittingPoints:
    """The document with usual values for whatever nobody measured. ``front_curve_d``: the frame's, 1.530."""
    spreads = (points.spreads or Spreads()).model_copy(update={"lens_in_rim_mm": LENS_IN_RIM_SD_MM, **POSTURE_SD_DEG})
    points = points.model_copy(update={"side": _by_the_rims(points.side), "spreads": spreads})
    if points.front is None:
        return points
    measured = points.front.face_form_deg
    usual, usual_sd = usual_face_form_deg(front_curve_d)
    doubts = {
        "in_front_of_lens_plane_mm": KNOWN_LENGTH_HELD_SD_MM,
        "face_form_deg": usual_sd if measured is None else MEASURED_FACE_FORM_SD_DEG,
        "centre_of_rotation_mm": (
            CENTRE_OF_ROTATION_SD_MM if tells_vertex(points) else UNMEASURED_CENTRE_OF_ROTATION_SD_MM
        ),
    }
    told: dict[str, Any] = {"face_form_deg": usual if measured is None else measured}
    told["extra"] = {**(points.front.extra or {}), ONE_FRAME: True}
    if points.front.camera_pitch_deg is None:
        told |= {"camera_pitch_deg": 0.0, "camera_pitch_sd_deg": CAMERA_PITCH_SD_DEG}
    front = points.front.model_copy(update=told)
    return points.model_copy(update={"front": front, "spreads": spreads.model_copy(update=doubts)})


def tells_vertex(points: FittingPoints) -> bool:
    """Whether the side photo of a document has the marks that the vertex distance needs."""
    side = points.side
    if side is None or side.scale is None or side.scale.ends is None or side.level is None:
        return False
    return None not in (side.rim_top, side.rim_bottom, side.cornea)


def _by_the_rims(side: SidePhoto | None) -> SidePhoto | None:
    """Adds how reliably B is known, where B gives the scale between the marks of the rim."""
    if side is None or side.scale is None or side.scale.ends != (side.rim_top, side.rim_bottom):
        return side
    return side.model_copy(update={"scale": side.scale.model_copy(update={"length_sd_mm": B_BETWEEN_RIMS_SD_MM})})
