"""From stored photos and their marks to ``fitting-points/1``: what the measuring core is asked.

What the record knows is put in here and never taken from the browser: the photo's size, its focal length, and the
frame's own A and DBL.
"""

from __future__ import annotations

import json
from typing import Any

from dispensing.fitting.documents import POINTS_FORMAT, FittingPoints, SidePhoto, Spreads, parse_points
from dispensing.models import FittingPhoto, Frame
from dispensing.models.photos import PhotoView

HAND_MEASURED_DISTANCE_SD_MM = 10.0
"""A tape from a hand-held camera to a wearer who stands is read to about this, one standard deviation."""

KNOWN_LENGTH_HELD_SD_MM = 3.0
"""How closely a hand that holds a card or rule keeps it at the distance before the lenses that was said."""

USUAL_FACE_FORM_DEG, USUAL_FACE_FORM_SD_DEG = 5.0, 2.0
"""Dress fronts as they are made, mostly 3 to 8°. Taken where nobody measured: a flat front would be too hopeful."""

MEASURED_FACE_FORM_SD_DEG = 1.5

LENS_IN_RIM_SD_MM = 0.5
"""From the side the rim hides the lens: how far its back may stand from the line that is marked."""

B_BETWEEN_RIMS_SD_MM = 1.0
"""How far the ends of the rim that one sees from the side may lie beyond those of the lens, over the whole of B."""

CENTRE_OF_ROTATION_SD_MM = 1.0
"""How far behind the cornea eyes of different people turn."""

UNMEASURED_CENTRE_OF_ROTATION_SD_MM = 2.0
"""The same from the lens plane, where no side photo tells the vertex distance, which is mostly 11 to 16 mm."""


def points_of(photo: FittingPhoto, frame: Frame, near_distance_mm: float, marks: Any = None) -> FittingPoints:
    """The document of one photo. ``marks``: instead of the stored ones. Raises InvalidDocument for bad marks."""
    part = photo.marks if marks is None else marks
    if isinstance(part, dict):
        part = {**part, "width_px": photo.width_px, "height_px": photo.height_px}
        if photo.view == PhotoView.FRONT:
            part["focal_px"] = photo.focal_px
        if isinstance(part.get("scale"), dict) and part["scale"].get("by") == "frame":
            part["scale"] = {**part["scale"], "a_mm": _number(frame.a_mm), "dbl_mm": _number(frame.dbl_mm)}
    document = {
        "format": POINTS_FORMAT,
        photo.view: part,
        "near_distance_mm": near_distance_mm,
        "spreads": {"focal_percent": photo.focal_percent, "camera_distance_mm": HAND_MEASURED_DISTANCE_SD_MM},
    }
    return parse_points(json.dumps(document))


def as_worn(points: FittingPoints, *, vertex_known: bool) -> FittingPoints:
    """The document with what is usual for whatever nobody measured, and how far that may be off.

    Not for keeping: what is kept is what somebody marked or typed. ``vertex_known``: from a side photo.
    """
    points = points.model_copy(update={"side": _by_the_rims(points.side)})
    spreads = (points.spreads or Spreads()).model_copy(update={"lens_in_rim_mm": LENS_IN_RIM_SD_MM})
    if points.front is None:
        return points.model_copy(update={"spreads": spreads})
    measured = points.front.face_form_deg is not None
    stop_sd = CENTRE_OF_ROTATION_SD_MM if vertex_known else UNMEASURED_CENTRE_OF_ROTATION_SD_MM
    usual = {
        "in_front_of_lens_plane_mm": KNOWN_LENGTH_HELD_SD_MM,
        "face_form_deg": MEASURED_FACE_FORM_SD_DEG if measured else USUAL_FACE_FORM_SD_DEG,
        "centre_of_rotation_mm": stop_sd,
    }
    spreads = spreads.model_copy(update=usual)
    face_form = points.front.face_form_deg if measured else USUAL_FACE_FORM_DEG
    front = points.front.model_copy(update={"face_form_deg": face_form})
    return points.model_copy(update={"front": front, "spreads": spreads})


def _by_the_rims(side: SidePhoto | None) -> SidePhoto | None:
    """With how surely B is known, where it is the scale between the marks of the rim."""
    if side is None or side.scale is None or side.scale.ends != (side.rim_top, side.rim_bottom):
        return side
    return side.model_copy(update={"scale": side.scale.model_copy(update={"length_sd_mm": B_BETWEEN_RIMS_SD_MM})})


def tells_vertex(points: FittingPoints) -> bool:
    """Whether the side photo of a document is marked as far as the vertex distance asks."""
    side = points.side
    if side is None or side.scale is None or side.scale.ends is None or side.level is None:
        return False
    return None not in (side.rim_top, side.rim_bottom, side.cornea)


def stored_marks(points: FittingPoints) -> dict[str, Any]:
    """The hand-set part of a one-photo document, as it is stored: without what the record knows better."""
    photo = points.front or points.side
    part: dict[str, Any] = {} if photo is None else photo.model_dump(mode="json", exclude_none=True)
    for known in ("width_px", "height_px", "focal_px", "extra"):
        part.pop(known, None)
    if part.get("scale", {}).get("by") == "frame":
        part["scale"] = {"by": "frame"}
    return part


def _number(value: Any) -> float | None:
    return None if value is None else float(value)
