"""Every uncertain input of one measurement: its name, its value, its spread, and the source it is counted under.

It knows the documents and the usual spreads, and nothing of geometry. A mark that is missing has the value NaN. A name
is the path in the document: ``front.right.pupil.x``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from dispensing.fitting.anatomy import ID1_CARD_LENGTH_MM
from dispensing.fitting.documents import EYES, FittingPoints, FrontPhoto, Pixel, Scale, SidePhoto
from dispensing.fitting.marks_made import mark_sd_px
from dispensing.fitting.spreads import (
    ASSUMED_DISTANCE_MM,
    GROOVE_MM,
    SENSOR_PITCH_SD_DEG,
    UsualSpreads,
    with_usual,
)
from dispensing.fitting.squint_marks import reflections_of
from dispensing.fitting.worn_lens import ASSUMED_IN_SD_MM, TOLD_SD_MM, worn_before

MARKS = "marks"
SCALE = "scale"
DISTANCE = "distance"
HEAD_TURN = "head turn"
CHIN = "chin"
CAMERA_HEIGHT = "camera off the eyes' level"
CAMERA_SIDE = "camera off the middle"
FACE_FORM = "face form"
EYE = "centre of rotation"
RIM = "the rim before the lens"
GROOVE = "how deep the lens sits in its groove"
FRAME = "how alike the two lenses of a frame are made"
WORN_LENS = "where the worn lens is centred"
SCALE_PLACE = "where the known length was held"
BOX_MARKS = ("pupil", "nasal", "temporal", "top", "bottom")
SIDE_MARKS = ("rim_top", "rim_bottom", "cornea")


@dataclass(frozen=True)
class Input:
    """One uncertain number. ``sd`` is one standard deviation in the unit of ``value``."""

    name: str
    value: float
    sd: float
    source: str


def uncertain_inputs(points: FittingPoints) -> tuple[Input, ...]:
    """All inputs of both photos, in a fixed order that depends only on which photos there are."""
    spreads = with_usual(points.spreads)
    inputs: list[Input] = []
    if points.front is not None:
        inputs.extend(_front_inputs(points.front, spreads))
    if points.side is not None:
        inputs.extend(_side_inputs(points.side, spreads))
    return tuple(inputs)


def _front_inputs(front: FrontPhoto, spreads: UsualSpreads) -> Iterator[Input]:
    sure = _Sure(front, spreads)
    for eye in EYES:
        for mark in BOX_MARKS:
            yield from _point_inputs("front", f"{eye}.{mark}", getattr(front.eye(eye), mark), sure)
    yield from _scale_inputs("front", front.scale, sure, spreads)
    place_sd = 0.0 if front.scale is None or front.scale.by == "frame" else spreads.in_front_of_lens_plane_mm
    yield Input("front.scale.in_front_mm", in_front_mm(front.scale), place_sd, SCALE_PLACE)
    focal_sd = abs(front.focal_px or 0.0) * spreads.focal_percent / 100
    yield Input("front.focal_px", _number(front.focal_px), focal_sd, DISTANCE)
    yield _distance_input(front, spreads)
    yield Input("front.head_turn_deg", 0.0, spreads.head_turn_deg, HEAD_TURN)
    yield Input("front.chin_deg", 0.0, spreads.chin_deg, CHIN)
    yield Input("front.face_form_deg", front.face_form_deg or 0.0, spreads.face_form_deg, FACE_FORM)
    yield from _pitch_inputs(front, spreads)
    yield Input("front.camera_sideways_mm", 0.0, spreads.camera_sideways_mm, CAMERA_SIDE)
    yield Input("front.centre_of_rotation_mm", 0.0, spreads.centre_of_rotation_mm, EYE)
    for eye, at in reflections_of(front).items():
        yield from _point_inputs("front", f"{eye}.reflection", at, sure)
    yield from _worn_inputs(front)
    if front.sides == "rim":
        groove, groove_sd = GROOVE_MM
        yield Input("front.groove_mm", groove if front.groove_mm is None else front.groove_mm, groove_sd, GROOVE)


def _worn_inputs(front: FrontPhoto) -> Iterator[Input]:
    worn = worn_before(front)
    if not worn:
        return
    assumed = any(lens.pd_mm is None for lens in worn.values())
    yield Input("front.worn_in_mm", 0.0, ASSUMED_IN_SD_MM if assumed else 0.0, WORN_LENS)
    for eye, lens in worn.items():
        yield Input(f"front.{eye}.worn_in_mm", 0.0, TOLD_SD_MM, WORN_LENS)
        yield Input(f"front.{eye}.worn_up_mm", 0.0, lens.up_sd_mm, WORN_LENS)


def _distance_input(front: FrontPhoto, spreads: UsualSpreads) -> Input:
    """The distance as given; where no focal length is known either, the usual one with all that it may be off."""
    name = "front.camera_distance_mm"
    if front.camera_distance_mm is None and front.focal_px is None:
        return Input(name, *ASSUMED_DISTANCE_MM, DISTANCE)
    return Input(name, _number(front.camera_distance_mm), spreads.camera_distance_mm, DISTANCE)


def _pitch_inputs(front: FrontPhoto, spreads: UsualSpreads) -> Iterator[Input]:
    """A pitch that is known takes the place of the assumption that the camera looked level."""
    told, sd = front.camera_pitch_deg, front.camera_pitch_sd_deg
    pitch_sd = 0.0 if told is None else SENSOR_PITCH_SD_DEG if sd is None else abs(sd)
    yield Input("front.camera_pitch_deg", told or 0.0, pitch_sd, CAMERA_HEIGHT)
    yield Input("front.camera_up_mm", 0.0, spreads.camera_up_mm if told is None else 0.0, CAMERA_HEIGHT)


def _side_inputs(side: SidePhoto, spreads: UsualSpreads) -> Iterator[Input]:
    sure = _Sure(side, spreads)
    for mark in SIDE_MARKS:
        yield from _point_inputs("side", mark, getattr(side, mark), sure)
    for number, end in enumerate(side.level or (None, None)):
        yield from _point_inputs("side", f"level.{number}", end, sure)
    yield from _scale_inputs("side", side.scale, sure, spreads)
    yield Input("side.chin_deg", 0.0, spreads.chin_deg, CHIN)
    yield Input("side.lens_in_rim_mm", 0.0, spreads.lens_in_rim_mm, RIM)


class _Sure:
    """How surely each mark of one photo lies: as the photo states for all, or as each was made."""

    def __init__(self, photo: FrontPhoto | SidePhoto, spreads: UsualSpreads) -> None:
        stated = photo.mark_sd_px
        self.usual_px = spreads.mark_sd_px if stated is None else abs(stated)
        self.made = None if stated is not None else (photo.extra or {}).get("made")

    def sd_px(self, mark: str) -> float:
        return mark_sd_px(self.made, mark, self.usual_px)


def _scale_inputs(name: str, scale: Scale | None, sure: _Sure, spreads: UsualSpreads) -> Iterator[Input]:
    ends = scale.ends if scale is not None and scale.ends is not None else (None, None)
    for number, end in enumerate(ends):
        yield from _point_inputs(name, f"scale.ends.{number}", end, sure)
    given_sd = None if scale is None else scale.length_sd_mm
    length_sd = spreads.scale_length_mm if given_sd is None else abs(given_sd)
    if scale is not None and scale.by == "frame":
        # Either number may be mistyped; the spread of their sum is counted once.
        yield Input(f"{name}.scale.a_mm", _number(scale.a_mm), length_sd, SCALE)
        yield Input(f"{name}.scale.dbl_mm", _number(scale.dbl_mm), 0.0, SCALE)
    else:
        yield Input(f"{name}.scale.length_mm", known_length_mm(scale), length_sd, SCALE)


def _point_inputs(photo: str, mark: str, point: Pixel | None, sure: _Sure) -> Iterator[Input]:
    x, y = point if point is not None else (math.nan, math.nan)
    sd_px = sure.sd_px(mark)
    yield Input(f"{photo}.{mark}.x", x, sd_px, MARKS)
    yield Input(f"{photo}.{mark}.y", y, sd_px, MARKS)


def known_length_mm(scale: Scale | None) -> float:
    """The known length: A + DBL between the box centres, a card's long side, or the given length; else NaN."""
    if scale is None:
        return math.nan
    if scale.by == "frame":
        return _number(scale.a_mm) + _number(scale.dbl_mm)
    return ID1_CARD_LENGTH_MM if scale.by == "card" else _number(scale.length_mm)


def in_front_mm(scale: Scale | None) -> float:
    """How far in front of the lens plane the known length lies: for a card, NaN where not stated; otherwise 0."""
    if scale is None or scale.by == "frame":
        return 0.0
    given = scale.in_front_of_lens_plane_mm
    return 0.0 if given is None and scale.by == "length" else _number(given)


def _number(value: float | None) -> float:
    return math.nan if value is None else value
