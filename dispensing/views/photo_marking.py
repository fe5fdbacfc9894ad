"""Marking a photo: the page, the results while marks move, saving marks as they are made, proposing pupils.

All but the page speak JSON. The browser draws; every figure is computed here, by the code that is tested.
"""

from __future__ import annotations

import json
from typing import Any
from uuid import UUID

from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.documents import InvalidDocument
from dispensing.fitting.as_worn import usual_face_form_deg
from dispensing.fitting.chain import COVERAGE_FACTOR
from dispensing.fitting.documents import Fitting, FittingPoints
from dispensing.fitting.doubts import doubts_by_mark, unlike_the_record
from dispensing.fitting.measure import measure
from dispensing.fitting.on_record import first_marks, is_begun
from dispensing.fitting.photos import PhotoRefused
from dispensing.models import FittingPhoto, Frame, Practice
from dispensing.models.photos import PhotoView
from dispensing.presentation.photo_fittings import (
    causes_of_doubt,
    drawing_from_above,
    reasons_told,
    result_lines,
    summary_of,
)
from dispensing.queries.limits import limits_in_force
from dispensing.queries.photo_fittings import (
    face_form_of,
    frame_facts,
    next_unmarked,
    photo_facts,
    photos_with_measuring,
    points_in_hand,
)
from dispensing.roles import Ability
from dispensing.services.fittings import FittingRefused
from dispensing.services.mark_proposals import marks_for
from dispensing.services.photo_marks import MarkedByAnother, save_marks
from dispensing.views.requests import StaffRequest

WORN_FIELDS = (
    ("sphere", "Sphere", "D"),
    ("cylinder", "Cylinder", "D"),
    ("axis", "Axis", "°"),
    ("pd_mm", "Centre, from bridge", "mm"),
    ("height_mm", "Centre, above lowest", "mm"),
)
EDIT = (Ability.FITTING_EDIT, Ability.PATIENT_VIEW)
LARGEST_MARKS_BYTES = 20_000


@requires(*EDIT)
@require_safe
def photo_mark(request: StaffRequest, photo_id: UUID) -> HttpResponse:
    photo = _photo(photo_id)
    points = points_in_hand(photo)
    context = {
        "photo": photo,
        "measuring": photo.measuring,
        "next": next_unmarked(photo),
        "told": _told(photo, points, measure(points, limits=limits_in_force())),
        "page_data": _page_data(photo),
        "is_front": photo.view == PhotoView.FRONT,
        "frame_gives_scale": None not in (photo.measuring.frame.a_mm, photo.measuring.frame.dbl_mm),
        "usual_face_form": _usual_face_form(photo.measuring.frame),
        "worn_eyes": (("right", "Right lens"), ("left", "Left lens")),
        "worn_fields": WORN_FIELDS,
    }
    return render(request, "photo_fittings/mark.html", context)


@requires(*EDIT)
@require_POST
def photo_live(request: StaffRequest, photo_id: UUID) -> JsonResponse:
    """What the marks measure at this moment; nothing is stored."""
    photo = _photo(photo_id)
    try:
        points = points_in_hand(photo, _asked(request)["marks"])
    except (InvalidDocument, KeyError) as fault:
        return _not_understood(fault)
    return JsonResponse(_answer(photo, points))


@requires(*EDIT)
@require_POST
def photo_marks(request: StaffRequest, photo_id: UUID) -> JsonResponse:
    """Save the marks. Answers 409 with the other person's marks if someone else has changed them since."""
    photo = _photo(photo_id)
    try:
        asked = _asked(request)
        photo = save_marks(actor=request.user, photo=photo, marks=asked["marks"], version=int(asked.get("version", -1)))
    except MarkedByAnother as other:
        theirs = {"marks": other.photo.marks, "version": other.photo.version}
        return JsonResponse({"message": str(other), **theirs}, status=409)
    except FittingRefused as refusal:
        return JsonResponse({"message": str(refusal)}, status=409)
    except (InvalidDocument, KeyError, TypeError, ValueError) as fault:
        return _not_understood(fault)
    return JsonResponse({**_answer(photo, points_in_hand(photo)), "version": photo.version})


@requires(*EDIT)
@require_POST
def photo_proposals(request: StaffRequest, photo_id: UUID) -> JsonResponse:
    """Proposed marks, each with a confidence; they become marks only when a person accepts them."""
    photo = _photo(photo_id)
    if not photo.file or photo.view != PhotoView.FRONT:
        return JsonResponse({"message": "Marks are proposed on a front photo that is still there."}, status=409)
    try:
        points = points_in_hand(photo, _asked(request)["marks"])
    except (InvalidDocument, KeyError) as fault:
        return _not_understood(fault)
    try:
        return JsonResponse({"proposals": marks_for(photo, points)})
    except PhotoRefused as refused:
        return JsonResponse({"message": str(refused)}, status=409)


def _photo(photo_id: UUID) -> FittingPhoto:
    return get_object_or_404(photos_with_measuring(), public_id=photo_id)


def _asked(request: StaffRequest) -> dict[str, Any]:
    """The request's JSON object; empty for anything else, so that the missing key is what gets reported."""
    try:
        asked = json.loads(request.body) if len(request.body) <= LARGEST_MARKS_BYTES else None
    except (ValueError, RecursionError):
        asked = None
    return asked if isinstance(asked, dict) and isinstance(asked.get("marks"), dict) else {}


def _not_understood(fault: Exception) -> JsonResponse:
    told = str(fault) if isinstance(fault, InvalidDocument) else "the marks are missing"
    return JsonResponse({"message": f"The marks cannot be read: {told}. Load the page again."}, status=400)


def _answer(photo: FittingPhoto, points: FittingPoints) -> dict[str, Any]:
    fitting = measure(points, limits=limits_in_force())
    html = render_to_string("photo_fittings/_told.html", {"told": _told(photo, points, fitting)})
    suspects = [one.look_at for one in fitting.unlikely if one.look_at]
    return {"html": html, "summary": summary_of(fitting), "suspects": suspects}


def _told(photo: FittingPhoto, points: FittingPoints, fitting: Fitting) -> dict[str, Any]:
    """Everything that ``_told.html`` shows. For an untouched photo nothing is reported as missing yet."""
    practice = Practice.current()
    face_form = (points.front.face_form_deg or 0.0) if points.front else 0.0
    begun = is_begun(points)
    return {
        "begun": begun,
        "headings": (practice.right_heading, practice.left_heading),
        "lines": result_lines(fitting),
        "causes": causes_of_doubt(fitting),
        "doubts": [*doubts_by_mark(fitting.unlikely), *unlike_the_record(fitting, frame_facts(photo.measuring.frame))],
        "reasons": reasons_told(fitting) if begun else (),
        "drawing": drawing_from_above(fitting, practice, face_form),
    }


def _page_data(photo: FittingPhoto) -> dict[str, Any]:
    """What the browser needs for drawing; it never computes figures itself."""
    measuring, key = photo.measuring, photo.public_id
    frame = frame_facts(measuring.frame)
    names = {"live": "photo-live", "save": "photo-marks", "proposals": "photo-proposals", "picture": "photo-file"}
    return {
        "view": photo.view,
        "width": photo.width_px,
        "height": photo.height_px,
        "version": photo.version,
        "marks": photo.marks if photo.version else {**_first_marks(photo), **photo.marks},
        "frame": {"a_mm": frame.a_mm, "b_mm": frame.b_mm, "dbl_mm": frame.dbl_mm},
        "readOnly": measuring.finished,
        "picture": bool(photo.file),
        "proposes": photo.view == PhotoView.FRONT and not photo.marked and not measuring.finished,
        "urls": {name: reverse(route, args=[key]) for name, route in names.items()},
    }


def _first_marks(photo: FittingPhoto) -> dict[str, Any]:
    measuring, facts = photo.measuring, photo_facts(photo)
    face_form_deg = face_form_of(measuring.patient, measuring.frame)
    return first_marks(facts.view, frame_facts(measuring.frame), face_form_deg)


def _usual_face_form(frame: Frame) -> str:
    usual, sd = usual_face_form_deg(frame_facts(frame).front_curve_d)
    return f"{usual:g}° ± {COVERAGE_FACTOR * sd:.0f}°"
