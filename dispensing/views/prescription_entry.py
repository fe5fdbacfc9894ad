"""Entering a prescription and correcting one: the page, the pasted line, and what is shown while typing."""

from __future__ import annotations

import uuid
from functools import partial
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST
from django_htmx.http import trigger_client_event

from dispensing.access import requires
from dispensing.forms.fields import month_first
from dispensing.forms.prescription_entry import PrescriptionEntry
from dispensing.forms.prescriptions import LineForm
from dispensing.forms.written_line import names_no_eye, read_line, turn
from dispensing.models import Patient, Prescription
from dispensing.optics.notation import NotationError
from dispensing.presentation.prescription_meaning import live_context
from dispensing.queries.papers import paper_named, paper_to_take_in
from dispensing.queries.prescriptions import with_lines
from dispensing.request_size import takes_files
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.services.papers import read_scan, take_in_from_paper
from dispensing.services.prescriptions import correct_prescription, take_in_prescription
from dispensing.services.scans import add_scan, cleaned_scan
from dispensing.views.meanwhile import opened_on, save_on_top, told_by_others
from dispensing.views.requests import StaffRequest


@requires(Ability.PRESCRIPTION_EDIT)
@takes_files
def prescription_new(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    patient = get_object_or_404(Patient, public_id=patient_id)
    posted = request.method == "POST"
    paper = paper_named(patient, request.POST.get("paper", "")) if posted else paper_to_take_in(patient)
    entry = PrescriptionEntry(patient, request.POST if posted else None, paper=paper)
    if _only_a_line(request, entry):
        return _with_the_line_read(request, patient)
    if request.method == "POST" and _all_well(request, entry):
        whole = {"actor": request.user, "patient": patient, **entry.values()}
        if entry.paper is not None:
            prescription = take_in_from_paper(**whole, paper=entry.paper.paper, settled=entry.settled)
        else:
            prescription = take_in_prescription(**whole)
        _keep_scan(request, prescription)
        messages.success(request, "The prescription is recorded.")
        return redirect("patient-page", patient.public_id)
    return render(request, "prescriptions/entry.html", _context(entry))


@requires(Ability.PRESCRIPTION_EDIT)
@takes_files
def prescription_correct(request: StaffRequest, prescription_id: uuid.UUID) -> HttpResponse:
    prescription = get_object_or_404(with_lines(), public_id=prescription_id)
    data = request.POST if request.method == "POST" else None
    entry = PrescriptionEntry(prescription.patient, data, corrected=prescription)
    version = opened_on(request, prescription)
    if request.method == "POST" and _all_well(request, entry):
        save = partial(correct_prescription, actor=request.user, prescription=prescription, **entry.values())
        try:
            save_on_top(lambda version: save(version=version), version)
        except ChangedMeanwhile as other:
            entry.facts.add_error(None, told_by_others(other, "this prescription"))
            version = other.version
        else:
            _keep_scan(request, prescription)
            messages.success(request, "Saved. Orders already sent keep the prescription as it was when they were sent.")
            return redirect("prescription-page", prescription.public_id)
    context = _context(entry) | {"prescription": prescription, "version": version}
    return render(request, "prescriptions/entry.html", context)


@requires(Ability.PRESCRIPTION_EDIT)
@require_POST
def prescription_read(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    """The grid after reading a pasted line into it or converting one eye to the other cylinder form."""
    data, context = _filled(request, _entry(request, patient_id))
    entry = _entry(request, patient_id, data)
    if context.get("filled") or context.get("facts_changed"):
        entry.show_facts_without_faults()
    response = render(request, "prescriptions/_grid.html", _context(entry) | context)
    return trigger_client_event(response, "prescription-read", after="settle")


@requires(Ability.PRESCRIPTION_EDIT)
@require_POST
def prescription_live(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    return render(request, "prescriptions/_live.html", live_context(_entry(request, patient_id)))


def _only_a_line(request: StaffRequest, entry: PrescriptionEntry) -> bool:
    """Whether the form was sent with a pasted line that nobody has read into the fields yet."""
    if request.method != "POST" or not request.POST.get("line", "").strip():
        return False
    return all(not form.errors and form.is_empty for _, form in entry.eyes)


def _with_the_line_read(request: StaffRequest, patient: Patient) -> HttpResponse:
    """The page with the line read into its fields: what a machine read is looked at before it is taken in."""
    data, context = _filled(request, _entry(request, patient.public_id))
    entry = PrescriptionEntry(patient, data)
    return render(request, "prescriptions/entry.html", _context(entry) | context)


def _entry(request: StaffRequest, patient_id: uuid.UUID, data: QueryDict | None = None) -> PrescriptionEntry:
    patient = get_object_or_404(Patient, public_id=patient_id)
    paper = paper_named(patient, request.POST.get("paper", ""))
    return PrescriptionEntry(patient, data or request.POST, corrected=_corrected(request, patient), paper=paper)


def _corrected(request: StaffRequest, patient: Patient) -> Prescription | None:
    """The prescription being corrected, which the form names so that it is not compared with itself."""
    try:
        public_id = uuid.UUID(request.POST.get("corrected", ""))
    except ValueError:
        return None
    return with_lines().filter(patient=patient, public_id=public_id).first()


def _filled(request: StaffRequest, entry: PrescriptionEntry) -> tuple[QueryDict, dict[str, Any]]:
    if request.POST.get("turn") in ("right", "left"):
        right, left = entry.figures
        eye, other = (right, left) if request.POST["turn"] == "right" else (left, right)
        return turn(request.POST, eye, "plus" if (other.cylinder or 0.0) > 0 else "minus"), {}
    if "fill" in request.POST and entry.paper is not None:
        return entry.paper.filled(request.POST), {"filled": True}
    line = LineForm(request.POST)
    if not line.is_valid():
        return request.POST, {"line": line}
    text = line.cleaned_data["line"]
    try:
        data, notes = read_line(request.POST, text, request.POST.get("eye", ""))
    except NotationError as fault:
        line.add_error("line", str(fault))
        return request.POST, {"line": line, "which_eye": names_no_eye(fault, text)}
    beside = any(data.get(name) != request.POST.get(name) for name in ("vertex_mm", "notes"))
    return data, {"line": line, "notes": notes or ["Read. Compare with the paper."], "facts_changed": beside}


def _context(entry: PrescriptionEntry) -> dict[str, Any]:
    line = entry.data.get("line", "") if entry.data else ""
    paper = entry.paper.paper if entry.paper else None
    return {"line": LineForm(initial={"line": line}), "paper": paper, **live_context(entry)}


def _all_well(request: StaffRequest, entry: PrescriptionEntry) -> bool:
    """Whether the entry and the scan sent with it are both valid. Both are checked, so that all faults show at once."""
    well = entry.is_valid()
    upload = _scan_sent(request)
    if upload is None:
        return well
    try:
        cleaned_scan(upload)
        upload.seek(0)
    except ValidationError as fault:
        entry.scan_fault = str(fault.message)
        return False
    return well


def _keep_scan(request: StaffRequest, prescription: Prescription) -> None:
    upload = _scan_sent(request)
    if upload is not None:
        scan = add_scan(actor=request.user, prescription=prescription, upload=upload)
        read_scan(scan=scan, month_first=month_first())


def _scan_sent(request: StaffRequest) -> UploadedFile[bytes] | None:
    """The file that came with the form itself: the scan, or the paper where no script sent it ahead."""
    return request.FILES.get("scan") or request.FILES.get("paper_file")
