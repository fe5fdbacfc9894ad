"""Pages of fittings: choosing the frame, the sheet with its live hints, a single fitting, correcting, copying."""

from __future__ import annotations

from functools import partial
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.forms.fitting_rows import ROWS
from dispensing.forms.fittings import FittingForm, Sheet
from dispensing.models import Fitting, Frame, Patient, Practice
from dispensing.presentation.fittings import hints_on_record, lines_of, picture_of_fitting, picture_of_sheet, rounded
from dispensing.queries.fittings import face_form_of, fittings, history_of, last_pds_of, other_fittings
from dispensing.queries.prescribed_powers import horizontal_powers
from dispensing.roles import Ability
from dispensing.services.fittings import FittingRefused, change_fitting, copy_to_frame, record_fitting
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.views.meanwhile import opened_on, save_on_top, told_by_others
from dispensing.views.requests import StaffRequest

EDIT = (Ability.FITTING_EDIT, Ability.PATIENT_VIEW)


@requires(Ability.PATIENT_VIEW)
@require_safe
def fitting_page(request: StaffRequest, fitting_id: UUID) -> HttpResponse:
    fitting, practice = _fitting(fitting_id), Practice.current()
    context = {
        "fitting": fitting,
        "lines": _figures_in_lines(fitting, practice),
        "picture": picture_of_fitting(fitting, practice),
        "others": other_fittings(fitting),
        "history": history_of(fitting.public_id),
    }
    return render(request, "fittings/page.html", context)


def _figures_in_lines(fitting: Fitting, practice: Practice) -> list[dict[str, Any]]:
    """The rows of the sheet that were measured, each figure with its rounded value and what is unusual about it."""
    lines, unusual = [], hints_on_record(fitting)
    for row in ROWS:
        figures = [fitting.figure(row.quantity, eye) for eye in row.eyes]
        cells = [
            {
                "figure": figure,
                "shown": rounded(float(figure.value), row.unit, practice.rounding_mm) if figure else None,
                "hints": unusual.get((row.quantity.value, eye), ()),
            }
            for figure, eye in zip(figures, row.eyes, strict=True)
        ]
        if any(figures):
            lines.append({"row": row, "cells": cells, "figures": [figure for figure in figures if figure]})
    return lines


@requires(*EDIT)
def fitting_record(request: StaffRequest, patient_id: UUID, frame_id: UUID) -> HttpResponse:
    sheet = _sheet(patient_id, frame_id)
    form = FittingForm(request.POST or None, sheet=sheet, user=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            fitting = record_fitting(
                actor=request.user,
                patient=sheet.patient,
                frame=sheet.frame,
                figures=form.figures(),
                **{name: form.cleaned_data[name] for name in ("measured_on", "taken_by", *_DETAILS)},
            )
        except FittingRefused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The fitting is saved.")
            return redirect("fitting-page", fitting.public_id)
    return _sheet_page(request, form)


_DETAILS = ("pre_adjusted", "near_distance_mm", "notes")


@requires(*EDIT)
def fitting_correct(request: StaffRequest, fitting_id: UUID) -> HttpResponse:
    fitting = _fitting(fitting_id)
    sheet = Sheet(fitting.patient, fitting.frame, horizontal_powers(fitting.patient), fitting)
    form = FittingForm(request.POST or None, sheet=sheet, user=request.user)
    version = opened_on(request, fitting)
    if request.method == "POST" and form.is_valid():
        try:
            save_on_top(partial(_correct, request, fitting, form), version)
        except FittingRefused as refusal:
            form.add_error(None, str(refusal))
        except ChangedMeanwhile as other:
            form.add_error(None, told_by_others(other, "this fitting"))
            version = other.version
        else:
            messages.success(request, "The fitting is saved.")
            return redirect("fitting-page", fitting.public_id)
    return _sheet_page(request, form, version)


def _correct(request: StaffRequest, fitting: Fitting, form: FittingForm, version: int) -> None:
    cleaned = form.cleaned_data
    change_fitting(
        actor=request.user,
        fitting=fitting,
        figures=form.figures(),
        fields={name: cleaned[name] for name in ("measured_on", *_DETAILS)},
        taken_by=cleaned["taken_by"],
        measured_again=cleaned.get("measured_again", False),
        version=version,
    )


def _sheet_page(request: StaffRequest, form: FittingForm, version: int | None = None) -> HttpResponse:
    practice = Practice.current()
    context = {
        "form": form,
        "sheet": form.sheet,
        "lines": lines_of(form, practice),
        "picture": picture_of_sheet(form, practice),
        "version": version,
    }
    return render(request, "fittings/edit.html", context)


@requires(*EDIT)
@require_POST
def fitting_live(request: StaffRequest, patient_id: UUID, frame_id: UUID) -> HttpResponse:
    """Judges what is typed so far: the drawing and, beside each field, its figure and the remarks on it."""
    form = FittingForm(request.POST, sheet=_sheet(patient_id, frame_id), user=request.user)
    form.is_valid()
    practice = Practice.current()
    context = {"lines": lines_of(form, practice), "picture": picture_of_sheet(form, practice), "live": True}
    return render(request, "fittings/_live.html", context)


@requires(*EDIT)
@require_POST
def fitting_copy(request: StaffRequest, fitting_id: UUID, frame_id: UUID) -> HttpResponse:
    fitting = _fitting(fitting_id)
    frame = get_object_or_404(Frame, public_id=frame_id)
    try:
        copied = copy_to_frame(actor=request.user, fitting=fitting, frame=frame, copied_on=timezone.localdate())
    except FittingRefused as refusal:
        messages.error(request, str(refusal))
        return redirect("fitting-page", fitting_id)
    messages.success(
        request, "The PDs are copied. Heights, vertex distance and angles belong to the frame: measure them."
    )
    return redirect("fitting-correct", copied.public_id)


def _fitting(fitting_id: UUID) -> Fitting:
    return get_object_or_404(fittings(), public_id=fitting_id)


def _sheet(patient_id: UUID, frame_id: UUID) -> Sheet:
    patient = get_object_or_404(Patient, public_id=patient_id)
    frame = get_object_or_404(Frame, public_id=frame_id)
    return Sheet(
        patient, frame, horizontal_powers(patient), face_form=face_form_of(frame), last_pds=last_pds_of(patient)
    )
