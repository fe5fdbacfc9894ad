"""Every uncertain input of one measurement: its name, its value, its spread, and the source it is counted under.

It knows the documents and the usual spreads, and nothing of geometry. A mark that is missing has the value NaN. A name
is the path in the document: ``front.right.pupil.x``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from dispensing.fitting.anatomy import ID1_CARD_LENGTH_MM
from dispensing.fitting.documents import EYES, EyeMarks, FittingPoints, FrontPhoto, Pixel, Scale, SidePhoto
from dispensing.fitting.spreads import UsualSpreads, with_usual

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
    mark_sd = _mark_sd(front.mark_sd_px, spreads)
    for eye in EYES:
        yield from _box_inputs(f"front.{eye}", front.eye(eye), mark_sd)
    yield from _scale_inputs("front", front.scale, mark_sd, spreads)
    place_sd = 0.0 if front.scale is None or front.scale.by == "frame" else spreads.in_front_of_lens_plane_mm
    yield Input("front.scale.in_front_mm", in_front_mm(front.scale), place_sd, SCALE_PLACE)
    focal_sd = abs(front.focal_px or 0.0) * spreads.focal_percent / 100
    yield Input("front.focal_px", _number(front.focal_px), focal_sd, DISTANCE)
    yield Input("front.camera_distance_mm", _number(front.camera_distance_mm), spreads.camera_distance_mm, DISTANCE)
    yield Input("front.head_turn_deg", 0.0, spreads.head_turn_deg, HEAD_TURN)
    yield Input("front.chin_deg", 0.0, spreads.chin_deg, CHIN)
    yield Input("front.face_form_deg", front.face_form_deg or 0.0, spreads.face_form_deg, FACE_FORM)
    yield Input("front.camera_up_mm", 0.0, spreads.camera_up_mm, CAMERA_HEIGHT)
    yield Input("front.camera_sideways_mm", 0.0, spreads.camera_sideways_mm, CAMERA_SIDE)
    yield Input("front.centre_of_rotation_mm", 0.0, spreads.centre_of_rotation_mm, EYE)


def _side_inputs(side: SidePhoto, spreads: UsualSpreads) -> Iterator[Input]:
    mark_sd = _mark_sd(side.mark_sd_px, spreads)
    for mark in SIDE_MARKS:
        yield from _point_inputs(f"side.{mark}", getattr(side, mark), mark_sd)
    for number, end in enumerate(side.level or (None, None)):
        yield from _point_inputs(f"side.level.{number}", end, mark_sd)
    yield from _scale_inputs("side", side.scale, mark_sd, spreads)
    yield Input("side.chin_deg", 0.0, spreads.chin_deg, CHIN)
    yield Input("side.lens_in_rim_mm", 0.0, spreads.lens_in_rim_mm, RIM)


def _box_inputs(name: str, marks: EyeMarks, sd_px: float) -> Iterator[Input]:
    for mark in BOX_MARKS:
        yield from _point_inputs(f"{name}.{mark}", getattr(marks, mark), sd_px)


def _scale_inputs(name: str, scale: Scale | None, sd_px: float, spreads: UsualSpreads) -> Iterator[Input]:
    ends = scale.ends if scale is not None and scale.ends is not None else (None, None)
    for number, end in enumerate(ends):
        yield from _point_inputs(f"{name}.scale.ends.{number}", end, sd_px)
    given_sd = None if scale is None else scale.length_sd_mm
    length_sd = spreads.scale_length_mm if given_sd is None else abs(given_sd)
    if scale is not None and scale.by == "frame":
        # Either number may be mistyped; the spread of their sum is counted once.
        yield Input(f"{name}.scale.a_mm", _number(scale.a_mm), length_sd, SCALE)
        yield Input(f"{name}.scale.dbl_mm", _number(scale.dbl_mm), 0.0, SCALE)
    else:
        yield Input(f"{name}.scale.length_mm", known_length_mm(scale), length_sd, SCALE)


def _point_inputs(name: str, point: Pixel | None, sd_px: float) -> Iterator[Input]:
    x, y = point if point is not None else (math.nan, math.nan)
    yield Input(f"{name}.x", x, sd_px, MARKS)
    yield Input(f"{name}.y", y, sd_px, MARKS)


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


def _mark_sd(given_px: float | None, spreads: UsualSpreads) -> float:
    return spreads.mark_sd_px if given_px is None else abs(given_px)


def _number(value: float | None) -> float:
    return math.nan if value is None else value
