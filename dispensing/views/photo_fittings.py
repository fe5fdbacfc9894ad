"""Measuring from photos: starting, the page of one measuring with its results, using or discarding it."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import can, requires
from dispensing.fitting.doubts import Doubt, doubts_by_mark, unlike_the_record
from dispensing.fitting.kept import kept_figures
from dispensing.forms.photo_figures import PhotoFigure, photo_figures
from dispensing.forms.photo_fittings import PhotoForm, StartForm, UseForm
from dispensing.models import Frame, Patient, PhotoMeasuring
from dispensing.models.photos import PhotoView
from dispensing.presentation.photo_fittings import reasons_told
from dispensing.queries.fittings import fittings
from dispensing.queries.photo_fittings import (
    PhotosMeasured,
    frame_facts,
    latest_by_hand,
    measured_from,
    photo_measurings,
    unfinished_measurings,
)
from dispensing.queries.prescribed_powers import horizontal_powers
from dispensing.roles import Ability
from dispensing.services.fittings import FittingRefused
from dispensing.services.photo_fittings import discard_measuring, start_measuring, use_figures
from dispensing.views.requests import StaffRequest

EDIT = (Ability.FITTING_EDIT, Ability.PATIENT_VIEW)
LATEST_FITTINGS = 5


@requires(*EDIT)
def photo_fitting_new(request: StaffRequest, patient_id: UUID, frame_id: UUID) -> HttpResponse:
    patient = get_object_or_404(Patient, public_id=patient_id)
    frame = get_object_or_404(Frame, public_id=frame_id)
    form = StartForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            measuring = start_measuring(actor=request.user, patient=patient, frame=frame, **form.cleaned_data)
        except FittingRefused as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("photo-fitting-page", measuring.public_id)
    unfinished = unfinished_measurings(patient, frame)
    context = {"patient": patient, "frame": frame, "form": form, "unfinished": unfinished}
    return render(request, "photo_fittings/new.html", context)


@requires(Ability.PATIENT_VIEW)
@require_safe
def photo_fitting_page(request: StaffRequest, measuring_id: UUID) -> HttpResponse:
    """Shows the results to anyone who may see the patient, and the photos themselves only to those who measure."""
    measuring = _measuring(measuring_id)
    return _page(request, measuring, measured_from(measuring))


@requires(*EDIT)
@require_POST
def photo_fitting_use(request: StaffRequest, measuring_id: UUID) -> HttpResponse:
    measuring = _measuring(measuring_id)
    measured = measured_from(measuring)
    form = _use_form(measuring, measured, request.POST)
    if not form.is_valid():
        return _page(request, measuring, measured, form)
    try:
        fitting = use_figures(
            actor=request.user,
            measuring=measuring,
            figures=[row.taken() for row in form.chosen()],
            into=form.chosen_fitting(),
            pre_adjusted=form.cleaned_data["pre_adjusted"],
            **_as_measured(measured),
        )
    except FittingRefused as refusal:
        # Usually a colleague was quicker, so the page is shown as it is now.
        messages.error(request, str(refusal))
        if PhotoMeasuring.objects.filter(pk=measuring.pk).exists():
            return redirect("photo-fitting-page", measuring_id)
        return redirect("patient-page", measuring.patient.public_id)
    except ValidationError as refusal:
        form.add_error(None, refusal.messages)
        return _page(request, measuring, measured, form)
    messages.success(request, "The figures are recorded as a fitting.")
    return redirect("fitting-page", fitting.public_id)


@requires(*EDIT)
@require_POST
def photo_fitting_discard(request: StaffRequest, measuring_id: UUID) -> HttpResponse:
    measuring = _measuring(measuring_id)
    try:
        discard_measuring(actor=request.user, measuring=measuring)
    except FittingRefused as refusal:
        messages.error(request, str(refusal))
        return redirect("photo-fitting-page", measuring_id)
    messages.success(request, "The measurement and its photos are deleted.")
    return redirect("patient-page", measuring.patient.public_id)


def _measuring(measuring_id: UUID) -> PhotoMeasuring:
    return get_object_or_404(photo_measurings(), public_id=measuring_id)


def _as_measured(measured: PhotosMeasured | None) -> dict[str, Any]:
    """A photo counts as measured on the day it was added, by whoever marked it last."""
    if measured is None:
        return {"measured_on": timezone.localdate()}
    return {"measured_on": measured.taken_on, "taken_by": measured.taken_by, "as_marked": measured.versions}


def _doubts(measuring: PhotoMeasuring, measured: PhotosMeasured) -> list[tuple[str, Doubt]]:
    """Each doubt with the photos it is about; empty if it is about all of them."""
    found = [(of.whose, doubt) for of in measured.sheet.doubted for doubt in doubts_by_mark(of.unlikely)]
    return [*found, *(("", doubt) for doubt in unlike_the_record(measured.fitting, frame_facts(measuring.frame)))]


def _rows(measuring: PhotoMeasuring, measured: PhotosMeasured | None) -> list[PhotoFigure]:
    if measured is None:
        return []
    by_hand = latest_by_hand(measuring.patient, measuring.frame)
    powers = horizontal_powers(measuring.patient)
    return photo_figures(kept_figures(measured.sheet, measuring.near_distance_mm, powers), by_hand)


def _use_form(measuring: PhotoMeasuring, measured: PhotosMeasured | None, data: Any = None) -> UseForm:
    in_frame = fittings().filter(patient=measuring.patient, frame=measuring.frame)[:LATEST_FITTINGS]
    fitting = None if measured is None else measured.fitting
    # What is not marked is not measured either, and a wide ± says so itself: neither asks for a tick.
    doubtful = fitting is not None and bool(fitting.take_again or fitting.told("to_check"))
    return UseForm(data, rows=_rows(measuring, measured), fittings=list(in_frame), doubtful=doubtful)


def _page(
    request: StaffRequest, measuring: PhotoMeasuring, measured: PhotosMeasured | None, form: UseForm | None = None
) -> HttpResponse:
    form = form or _use_form(measuring, measured)
    rows = list(form.rows.values())
    context = {
        "measuring": measuring,
        "measured": measured,
        "rows": [{"figure": row, "ticked": form.is_ticked(row.name)} for row in rows],
        "doubts": _doubts(measuring, measured) if measured else (),
        "reasons": reasons_told(measured.fitting) if measured else (),
        "by_hand": next((row.hand.fitting for row in rows if row.hand), None),
        "disagreeing": [row for row in rows if row.disagrees],
        "form": form,
        "photo_form": PhotoForm(),
        "may_measure": can(request.user, *EDIT) and not measuring.finished,
        "views_there": {photo.view for photo in measuring.photos.all()},
        "front": PhotoView.FRONT,
    }
    return render(request, "photo_fittings/page.html", context)
