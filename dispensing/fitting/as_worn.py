"""What is usual for whatever nobody measured, and how far it may be off: the photos of a practice at work.

A ``fitting-points/1`` says itself what it takes as exact. Where somebody marks photos on a page and leaves a field
empty, what is usual is taken in its place, and its spread counts in the ±. It must never know about pages or the
record, and what it puts in is never kept: kept is what somebody marked or typed.
"""

from __future__ import annotations

from dispensing.fitting.documents import FittingPoints, SidePhoto, Spreads
from dispensing.trade import figure

UNMEASURED = "photo-unmeasured"

KNOWN_LENGTH_HELD_SD_MM = figure(UNMEASURED, "known_length_held_mm")
"""How closely a hand that holds a card or rule keeps it at the distance before the lenses that was said."""

USUAL_FACE_FORM_DEG = (figure(UNMEASURED, "dress_face_form_deg"), figure(UNMEASURED, "dress_face_form_sd_deg"))
"""Dress fronts as they are made, mostly 3 to 8°, with one standard deviation: a flat front would be too hopeful."""

WRAPPED_FACE_FORM_DEG = (figure(UNMEASURED, "wrap_face_form_deg"), figure(UNMEASURED, "wrap_face_form_sd_deg"))
"""Fronts for sport, mostly 13 to 23°: unmeasured, they make a binocular PD unsure by millimetres, and the ± says so."""

WRAPPED_FROM_CURVE_D = figure("wrap-base", "frame_curve_d")
"""A front of this curve (1.530) or more is a wrapped one."""

MEASURED_FACE_FORM_SD_DEG = figure(UNMEASURED, "measured_face_form_sd_deg")

HAND_MEASURED_DISTANCE_SD_MM = figure(UNMEASURED, "camera_distance_sd_mm")
"""A tape from a hand-held camera to a wearer who stands is read to about this, one standard deviation."""

LENS_IN_RIM_SD_MM = figure(UNMEASURED, "lens_in_rim_sd_mm")
"""From the side the rim hides the lens: how far its back may stand from the line that is marked."""

B_BETWEEN_RIMS_SD_MM = figure(UNMEASURED, "b_between_rims_sd_mm")
"""How far the ends of the rim that one sees from the side may lie beyond those of the lens, over the whole of B."""

CENTRE_OF_ROTATION_SD_MM = figure(UNMEASURED, "rotation_sd_mm")
"""How far from the conventional 13.5 mm behind the cornea eyes turn, root mean square: what their mean lies off it
sideways counts as well as what they scatter. Up and down they lie closer."""

UNMEASURED_CENTRE_OF_ROTATION_SD_MM = figure(UNMEASURED, "rotation_unmeasured_sd_mm")
"""The same from the lens plane, where no side photo tells the vertex distance, which is mostly 11 to 16 mm."""


def usual_face_form_deg(front_curve_d: float | None) -> tuple[float, float]:
    """The face form of a front that nobody measured, and one standard deviation. ``front_curve_d``: None if unknown."""
    if front_curve_d is not None and front_curve_d >= WRAPPED_FROM_CURVE_D:
        return WRAPPED_FACE_FORM_DEG
    return USUAL_FACE_FORM_DEG


def as_worn(points: FittingPoints, *, front_curve_d: float | None = None) -> FittingPoints:
    """The document with what is usual for whatever nobody measured. ``front_curve_d``: of the frame, 1.530."""
    spreads = (points.spreads or Spreads()).model_copy(update={"lens_in_rim_mm": LENS_IN_RIM_SD_MM})
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
    front = points.front.model_copy(update={"face_form_deg": usual if measured is None else measured})
    return points.model_copy(update={"front": front, "spreads": spreads.model_copy(update=doubts)})


def tells_vertex(points: FittingPoints) -> bool:
    """Whether the side photo of a document is marked as far as the vertex distance asks."""
    side = points.side
    if side is None or side.scale is None or side.scale.ends is None or side.level is None:
        return False
    return None not in (side.rim_top, side.rim_bottom, side.cornea)


def _by_the_rims(side: SidePhoto | None) -> SidePhoto | None:
    """With how surely B is known, where it is the scale between the marks of the rim."""
    if side is None or side.scale is None or side.scale.ends != (side.rim_top, side.rim_bottom):
        return side
    return side.model_copy(update={"scale": side.scale.model_copy(update={"length_sd_mm": B_BETWEEN_RIMS_SD_MM})})
