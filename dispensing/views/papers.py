"""Scans to be read: sending one, how far it is, the snippets, and settling what differs from the record."""

from __future__ import annotations

import base64
import uuid

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.forms.fields import month_first
from dispensing.models import PaperReading, Patient
from dispensing.presentation.papers import Refused
from dispensing.request_size import takes_files
from dispensing.roles import Ability
from dispensing.services.papers import add_paper, discard_paper, settle_difference, start_again_if_it_died
from dispensing.views.files import private_scan
from dispensing.views.prescriptions import page_of
from dispensing.views.requests import StaffRequest


@requires(Ability.PRESCRIPTION_EDIT)
@require_POST
@takes_files
def paper_add(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    """The panel of the paper, with the scan on its way through the reader."""
    patient = get_object_or_404(Patient, public_id=patient_id)
    upload = request.FILES.get("paper_file")
    if upload is None:
        return _panel(request, patient, fault="Choose a file first.")
    try:
        paper = add_paper(actor=request.user, patient=patient, upload=upload, month_first=month_first())
    except ValidationError as fault:
        return _panel(request, patient, fault=str(fault.message))
    return _panel(request, patient, paper)


@requires(Ability.PRESCRIPTION_EDIT)
@require_safe
def paper_state(request: StaffRequest, paper_id: uuid.UUID) -> HttpResponse:
    """The same panel, asked for again until the scan is read."""
    paper = get_object_or_404(PaperReading.objects.select_related("patient"), public_id=paper_id)
    start_again_if_it_died(paper, month_first())
    return _panel(request, paper.patient, paper)


@requires(Ability.PRESCRIPTION_EDIT)
@require_safe
def paper_snippet(request: StaffRequest, paper_id: uuid.UUID, name: str) -> HttpResponse:
    paper = get_object_or_404(PaperReading, public_id=paper_id)
    snippet = next((one["snippet"] for one in paper.found if one["name"] == name), "")
    if not snippet:
        raise Http404
    return HttpResponse(
        base64.b64decode(snippet),
        content_type="image/jpeg",
        headers={"Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff"},
    )


@requires(Ability.PRESCRIPTION_EDIT)
@require_safe
def paper_file(request: StaffRequest, paper_id: uuid.UUID) -> FileResponse:
    """The whole scan while it waits to be taken in, for what a snippet leaves open."""
    paper = get_object_or_404(PaperReading, public_id=paper_id, scan=None)
    return private_scan(paper.file, paper.public_id, paper.content_type)


@requires(Ability.PRESCRIPTION_EDIT)
@require_POST
def paper_discard(request: StaffRequest, paper_id: uuid.UUID) -> HttpResponse:
    paper = get_object_or_404(PaperReading.objects.select_related("patient"), public_id=paper_id, scan=None)
    patient = paper.patient
    discard_paper(actor=request.user, paper=paper)
    return _panel(request, patient)


@requires(Ability.PRESCRIPTION_EDIT)
@require_POST
def paper_settle(request: StaffRequest, paper_id: uuid.UUID) -> HttpResponse:
    """What differs counts no longer, for a reason that somebody gives by name."""
    paper = get_object_or_404(PaperReading.objects.select_related("scan__prescription"), public_id=paper_id)
    if paper.scan is None:
        raise Http404
    name, reason = request.POST.get("name", ""), request.POST.get("reason", "")
    prescription_id = paper.scan.prescription.public_id
    if any(one["name"] == name for one in paper.found):
        try:
            settle_difference(actor=request.user, paper=paper, name=name, reason=reason)
        except ValidationError as fault:
            return page_of(request, prescription_id, refused=Refused(paper, name, reason, str(fault.message)))
        messages.success(request, "Settled: it stays as it is recorded.")
    return redirect("prescription-page", prescription_id)


def _panel(request: StaffRequest, patient: Patient, paper: PaperReading | None = None, fault: str = "") -> HttpResponse:
    return render(request, "prescriptions/_paper.html", {"patient": patient, "paper": paper, "paper_fault": fault})
