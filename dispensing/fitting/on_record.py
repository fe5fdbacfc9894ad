"""Turns the recorded photos and their marks into ``fitting-points/1``, and that back into the marks that are kept.

What the record knows is filled in here and never taken from the person marking: a photo's size, its focal length, and
the frame's own A and DBL. It must never know about rows, pages or requests.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from dispensing.fitting.as_worn import HAND_MEASURED_DISTANCE_SD_MM, as_worn
from dispensing.fitting.documents import POINTS_FORMAT, FittingPoints, parse_points
from dispensing.fitting.marks_made import kept_made
from dispensing.fitting.several import Together, put_together
from dispensing.fitting.spreads import SENSOR_PITCH_SD_DEG
from dispensing.fitting.squint_marks import REFLECTION, kept_reflections
from dispensing.fitting.worn_lens import WORN, kept_worn

View = Literal["front", "side"]

PLACES: dict[View, tuple[str, ...]] = {
    "front": ("right", "left"),
    "side": ("rim_top", "rim_bottom", "cornea", "level"),
}
"""Where the marks of a photo are held; what is only stated about it (gaze, scale) is not a mark."""

RENEWED = "renewed"
"""The key under ``extra`` by which the patient looked away and back before this photo, so that the posture is new."""

FOCAL_LOST = "focal_lost"
"""The key under ``extra`` that says why the focal length of a photo is not known, one of ``WHY_LOST``."""

WHY_LOST = ("cropped", "zoomed")


@dataclass(frozen=True)
class FrameFacts:
    """What is recorded about the frame, mm and D (1.530); None where it is not."""

    a_mm: float | None = None
    b_mm: float | None = None
    dbl_mm: float | None = None
    front_curve_d: float | None = None


@dataclass(frozen=True)
class PhotoFacts:
    """One photo: its number on the sheet, size in px, focal length with its spread in per cent, and marks.

    ``marks``: the front or side part of ``fitting-points/1`` as set by hand; until it is read, whatever was sent.
    """

    number: int
    view: View
    width_px: int
    height_px: int
    focal_px: float | None
    focal_percent: float | None
    marks: Any

    @property
    def marked(self) -> bool:
        return is_marked(self.marks)


def is_marked(marks: Mapping[str, Any]) -> bool:
    """Whether anything is marked on a photo of either view."""
    return any(marks.get(place) for places in PLACES.values() for place in places)


def is_begun(points: FittingPoints) -> bool:
    """Whether anything is marked on the photo that the document is about, which is the front photo if there is one."""
    view: View = "side" if points.front is None else "front"
    return any(getattr(getattr(points, view), place, None) for place in PLACES[view])


def points_of(photo: PhotoFacts, frame: FrameFacts, near_distance_mm: float) -> FittingPoints:
    """The document of one photo, as it was marked. Raises InvalidDocument for bad marks."""
    part = photo.marks
    if isinstance(part, dict):
        part = {**part, "width_px": photo.width_px, "height_px": photo.height_px}
        part["extra"] = _kept_extra(part.get("extra")) or None
        if photo.view == "front":
            part["focal_px"] = photo.focal_px
            if isinstance(part.get("scale"), dict):
                part["scale"] = _by_the_record(part["scale"], frame)
    document = {
        "format": POINTS_FORMAT,
        photo.view: part,
        "near_distance_mm": near_distance_mm,
        "spreads": {"focal_percent": photo.focal_percent, "camera_distance_mm": HAND_MEASURED_DISTANCE_SD_MM},
    }
    return parse_points(json.dumps(document))


def _by_the_record(scale: dict[str, Any], frame: FrameFacts) -> dict[str, Any]:
    known = {"b_mm": frame.b_mm}
    if scale.get("by") == "frame":
        known |= {"a_mm": frame.a_mm, "dbl_mm": frame.dbl_mm}
    return {**scale, **known}


def _kept_extra(extra: Any) -> dict[str, Any]:
    """What a page may tell of a photo besides its marks; anything else is dropped."""
    if not isinstance(extra, dict):
        return {}
    kept = kept_made(extra)
    kept |= {name: told for name, told in ((REFLECTION, kept_reflections(extra)), (WORN, kept_worn(extra))) if told}
    if extra.get(RENEWED) is True:
        kept[RENEWED] = True
    if extra.get(FOCAL_LOST) in WHY_LOST:
        kept[FOCAL_LOST] = extra[FOCAL_LOST]
    return kept


def kept_marks(points: FittingPoints) -> dict[str, Any]:
    """The part of a one-photo document that was set by hand, as it is kept: without what the record already knows."""
    photo = points.front or points.side
    part: dict[str, Any] = {} if photo is None else photo.model_dump(mode="json", exclude_none=True)
    for known in ("width_px", "height_px", "focal_px"):
        part.pop(known, None)
    if part.get("scale", {}).get("by") == "frame":
        part["scale"] = {"by": "frame"}
    part.get("scale", {}).pop("b_mm", None)
    return part


def told_of(view: str, focal_lost: str | None, pitch_deg: float | None, *, renewed: bool = False) -> dict[str, Any]:
    """What is known of a photo before anybody marks it, in the form that marks are kept in."""
    if view != "front":
        return {}
    extra: dict[str, Any] = {FOCAL_LOST: focal_lost} if focal_lost in WHY_LOST else {}
    if renewed:
        extra[RENEWED] = True
    told: dict[str, Any] = {"extra": extra} if extra else {}
    if pitch_deg is not None:
        told |= {"camera_pitch_deg": round(pitch_deg, 1), "camera_pitch_sd_deg": SENSOR_PITCH_SD_DEG}
    return told


def first_marks(view: str, frame: FrameFacts, face_form_deg: float | None) -> dict[str, Any]:
    """What stands before anything is marked: the usual way to take the photo, and the face form if measured."""
    if view == "side":
        return {}
    settings: dict[str, Any] = {"gaze": "camera"}
    if None not in (frame.a_mm, frame.dbl_mm):
        settings["scale"] = {"by": "frame"}
    return settings if face_form_deg is None else {**settings, "face_form_deg": face_form_deg}


def composed(
    photos: Sequence[PhotoFacts], frame: FrameFacts, near_distance_mm: float, age_years: int | None = None
) -> tuple[Together, ...]:
    """All photos of one wearer in one frame, ready to be measured: grouped, with usual values for the frame as worn.

    Whatever nobody measured gets its usual value, and its spread counts (see ``as_worn``). ``age_years``: the
    wearer's, by which a PD is judged. Raises InvalidDocument for bad marks.
    """
    aged = {} if age_years is None else {"extra": {"age_years": age_years}}
    documents = [points_of(photo, frame, near_distance_mm).model_copy(update=aged) for photo in photos]
    documents = list(_with_postures(documents))
    numbers = [photo.number for photo in photos]
    return tuple(
        replace(group, points=as_worn(group.points, front_curve_d=frame.front_curve_d))
        for group in put_together(documents, numbers)
    )


def _with_postures(documents: Sequence[FittingPoints]) -> Iterator[FittingPoints]:
    """Photos of one sitting share a posture, until the patient looked away and back before one of them."""
    posture = 1
    for points in documents:
        front = points.front
        if front is not None and (front.extra or {}).get(RENEWED) is True:
            posture += 1
        yield points.model_copy(update={"posture": f"posture {posture}"})
