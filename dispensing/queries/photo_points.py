"""From stored photos and their marks to ``fitting-points/1``: what the measuring core is asked.

What the record knows is put in here and never taken from the browser: the photo's size, its focal length, and the
frame's own A and DBL.
"""

from __future__ import annotations

import json
from typing import Any

from dispensing.fitting.documents import POINTS_FORMAT, FittingPoints, parse_points
from dispensing.models import FittingPhoto, Frame
from dispensing.models.photos import PhotoView

HAND_MEASURED_DISTANCE_SD_MM = 10.0
"""A tape from a hand-held camera to a wearer who stands is read to about this, one standard deviation."""


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
