"""Scans of prescriptions: adding, viewing and removing one. Only those who may see the patient get the file."""

import uuid

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.forms.fields import month_first
from dispensing.models import Prescription, PrescriptionScan
from dispensing.request_size import takes_files
from dispensing.roles import Ability
from dispensing.services.papers import read_scan
from dispensing.services.scans import add_scan, remove_scan
from dispensing.views.files import private_scan
from dispensing.views.prescriptions import page_of
from dispensing.views.requests import StaffRequest


@requires(Ability.PRESCRIPTION_EDIT)
@require_POST
@takes_files
def scan_add(request: StaffRequest, prescription_id: uuid.UUID) -> HttpResponse:
    prescription = get_object_or_404(Prescription.objects.select_related("patient"), public_id=prescription_id)
    upload = request.FILES.get("scan")
    if upload is None:
        return page_of(request, prescription_id, scan_fault="Choose a file first.")
    try:
        scan = add_scan(actor=request.user, prescription=prescription, upload=upload)
    except ValidationError as fault:
        return page_of(request, prescription_id, scan_fault=str(fault.message))
    read_scan(scan=scan, month_first=month_first())
    messages.success(request, "The scan is kept with the prescription.")
    return redirect("prescription-page", prescription.public_id)


@requires(Ability.PATIENT_VIEW)
@require_safe
def scan_file(request: StaffRequest, scan_id: uuid.UUID) -> FileResponse:
    scan = get_object_or_404(PrescriptionScan, public_id=scan_id)
    return private_scan(scan.file, scan.public_id, scan.content_type)


@requires(Ability.PRESCRIPTION_EDIT)
@require_POST
def scan_remove(request: StaffRequest, scan_id: uuid.UUID) -> HttpResponse:
    scan = get_object_or_404(PrescriptionScan.objects.select_related("prescription__patient"), public_id=scan_id)
    prescription = scan.prescription
    remove_scan(actor=request.user, scan=scan)
    messages.success(request, "The scan is removed.")
    return redirect("prescription-page", prescription.public_id)
