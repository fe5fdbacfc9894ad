"""Who waits: the list on the first page, and the three presses that keep it."""

from __future__ import annotations

import uuid
from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.forms.waiting import WaitingForm
from dispensing.models import Patient, Waiting
from dispensing.queries.waiting import waiting_now
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability
from dispensing.services.waiting import CannotWait, end_waiting, mark_waiting, take_waiting
from dispensing.views.requests import StaffRequest


@lists_patients
@requires(Ability.PATIENT_VIEW)
@require_safe
def waiting_list(request: StaffRequest) -> HttpResponse:
    """The list alone, which the first page asks for again and again."""
    return render(request, "waiting/_list.html", {"waits": waiting_now()})


@requires(Ability.PATIENT_VIEW)
def waiting_mark(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    patient = get_object_or_404(Patient, public_id=patient_id)
    form = WaitingForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            mark_waiting(actor=request.user, patient=patient, **form.cleaned_data)
        except CannotWait as refused:
            messages.error(request, str(refused))
        else:
            messages.success(request, f"{patient.full_name} is on the list of those who wait.")
        return redirect("patient-page", patient.public_id)
    return render(request, "waiting/mark.html", {"form": form, "patient": patient})


@requires(Ability.PATIENT_VIEW)
@require_POST
def waiting_take(request: StaffRequest, waiting_id: uuid.UUID) -> HttpResponse:
    wait = _found(waiting_id)
    _done(request, lambda: take_waiting(actor=request.user, wait=wait))
    return redirect("patient-page", wait.patient.public_id)


@requires(Ability.PATIENT_VIEW)
@require_POST
def waiting_end(request: StaffRequest, waiting_id: uuid.UUID) -> HttpResponse:
    wait = _found(waiting_id)
    if _done(request, lambda: end_waiting(actor=request.user, wait=wait)):
        messages.success(request, f"{wait.patient.full_name} is off the list of those who wait.")
    return redirect("patient-page", wait.patient.public_id) if "from_record" in request.POST else redirect("home")


def _found(waiting_id: uuid.UUID) -> Waiting:
    return get_object_or_404(Waiting.objects.select_related("patient"), public_id=waiting_id)


def _done(request: StaffRequest, action: Callable[[], object]) -> bool:
    try:
        action()
    except CannotWait as refused:
        messages.error(request, str(refused))
        return False
    return True
