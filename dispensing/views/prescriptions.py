"""The page of one prescription."""

import uuid

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from dispensing.access import requires
from dispensing.presentation.papers import Refused, papers_context
from dispensing.presentation.prescription_meaning import stored_context
from dispensing.queries.prescriptions import prescription_before, with_lines
from dispensing.roles import Ability
from dispensing.views.requests import StaffRequest


@requires(Ability.PATIENT_VIEW)
@require_safe
def prescription_page(request: StaffRequest, prescription_id: uuid.UUID) -> HttpResponse:
    return page_of(request, prescription_id)


def page_of(
    request: StaffRequest, prescription_id: uuid.UUID, scan_fault: str = "", refused: Refused | None = None
) -> HttpResponse:
    """The page; ``scan_fault``: what is wrong with the scan that someone tried to add; ``refused``: with a reason."""
    prescription = get_object_or_404(with_lines(), public_id=prescription_id)
    before = prescription_before(prescription.patient, prescription.tested_on, apart_from=prescription)
    context = stored_context(prescription, before) | papers_context(prescription, refused) | {"scan_fault": scan_fault}
    return render(request, "prescriptions/page.html", context)
