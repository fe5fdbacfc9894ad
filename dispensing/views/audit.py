"""The audit trail: who did what and when, for the whole practice or for one patient."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.forms.audit import AuditFilterForm, AuditPatientForm
from dispensing.models import Patient
from dispensing.presentation.audit import VERBS
from dispensing.queries.audit import AuditSearch, audit_page
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability


@lists_patients
@requires(Ability.AUDIT_VIEW)
@require_safe
def audit_trail(request: HttpRequest) -> HttpResponse:
    return render(request, "audit/trail.html", _context(request))


@requires(Ability.AUDIT_VIEW, Ability.PATIENT_VIEW)
@require_safe
def audit_of_patient(request: HttpRequest, patient_id: UUID) -> HttpResponse:
    patient = get_object_or_404(Patient, public_id=patient_id)
    return render(request, "audit/trail.html", _context(request, patient))


@lists_patients
@requires(Ability.AUDIT_VIEW, Ability.PATIENT_VIEW)
@require_POST
def audit_find_patient(request: HttpRequest) -> HttpResponse:
    """By POST, because a reference identifies a patient and must not end up in an address or a log."""
    form = AuditPatientForm(request.POST)
    if form.is_valid() and form.patient is not None:
        return redirect("audit-of-patient", form.patient.public_id)
    return render(request, "audit/trail.html", _context(request) | {"patient_form": form})


def _context(request: HttpRequest, patient: Patient | None = None) -> dict[str, Any]:
    form, search, chosen = asked_of_trail(request.GET, patient)
    return {
        "form": form,
        "patient_form": AuditPatientForm(),
        "patient": patient,
        "page": audit_page(search, after=request.GET.get("after", "")),
        "query": urlencode(chosen),
        "kept": chosen,
    }


def asked_of_trail(sent: QueryDict, patient: Patient | None) -> tuple[AuditFilterForm, AuditSearch, dict[str, str]]:
    """The form as sent, what it searches for, and what was chosen in it."""
    form = AuditFilterForm(sent, verbs=VERBS.items())
    chosen = {name: value for name, value in form.cleaned_data.items() if value} if form.is_valid() else {}
    person = form.people.get(chosen.get("person", ""))
    return form, AuditSearch(patient=patient, person=person, verb=chosen.get("verb", "")), chosen
