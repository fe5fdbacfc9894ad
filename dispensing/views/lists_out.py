"""The lists of the record as CSV files, each as its page narrows it. By POST: no address says whom one seeks."""

from __future__ import annotations

from uuid import UUID

from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from dispensing.access import requires
from dispensing.forms.frames import FrameSearchForm
from dispensing.models import Patient
from dispensing.presentation import lists_out as shown
from dispensing.queries.audit import audit_events
from dispensing.queries.finding import IN_ORDER, LONGEST_SEARCH, patients_told_by
from dispensing.queries.frames import FrameSearch, stock
from dispensing.queries.paging import every_row
from dispensing.queries.staff import staff_members
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability
from dispensing.views.audit import asked_of_trail
from dispensing.views.requests import StaffRequest
from dispensing.views.taking_out import taken_out


@lists_patients
@requires(Ability.LIST_TAKE_OUT, Ability.PATIENT_VIEW)
@require_POST
def patients_csv(request: StaffRequest) -> HttpResponseBase:
    text = request.POST.get("text", "")[:LONGEST_SEARCH].strip()
    rows = every_row(patients_told_by(text), order=IN_ORDER)
    asked = {"search": "for a person" if text else ""}
    return taken_out(request, "patients", shown.PATIENT_HEADS, shown.patient_rows(rows), asked=asked)


@requires(Ability.LIST_TAKE_OUT, Ability.FRAME_VIEW)
@require_POST
def frames_csv(request: StaffRequest) -> HttpResponseBase:
    form = FrameSearchForm(request.POST)
    search = FrameSearch(**form.cleaned_data) if form.is_valid() else FrameSearch()
    rows = every_row(stock(search).defer("radii_mm"), order=("model", "pk"))
    asked = {"text": search.text, "mount": search.mount, "withdrawn": "too" if search.withdrawn else ""}
    return taken_out(request, "frames", shown.FRAME_HEADS, shown.frame_rows(rows), asked=asked)


@lists_patients
@requires(Ability.LIST_TAKE_OUT, Ability.AUDIT_VIEW)
@require_POST
def audit_csv(request: StaffRequest) -> HttpResponseBase:
    return _trail(request)


@requires(Ability.LIST_TAKE_OUT, Ability.AUDIT_VIEW, Ability.PATIENT_VIEW)
@require_POST
def audit_of_patient_csv(request: StaffRequest, patient_id: UUID) -> HttpResponseBase:
    return _trail(request, get_object_or_404(Patient, public_id=patient_id))


def _trail(request: StaffRequest, patient: Patient | None = None) -> HttpResponseBase:
    """That it was taken out stands on the trail before it is read, and so in the file itself."""
    _, search, asked = asked_of_trail(request.POST, patient)
    rows = shown.audit_rows(every_row(audit_events(search), order=("-pk",)))
    name = "audit-of-patient" if patient else "audit"
    return taken_out(request, name, shown.AUDIT_HEADS, rows, asked=asked, patient=patient)


@requires(Ability.LIST_TAKE_OUT, Ability.STAFF_EDIT)
@require_POST
def staff_csv(request: StaffRequest) -> HttpResponseBase:
    return taken_out(request, "staff", shown.STAFF_HEADS, shown.staff_rows(staff_members()))
