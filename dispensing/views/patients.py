"""Pages of patients: find, register, read, correct. Searches come by POST: no name ends in an address or a log."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from dispensing.access import requires
from dispensing.forms.fields import month_first
from dispensing.forms.patients import PatientForm
from dispensing.models import Patient
from dispensing.queries.duplicates import possible_duplicates
from dispensing.queries.patients import find_patients, page_of, with_record
from dispensing.queries.photo_fittings import unfinished_measurings
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile, last_change
from dispensing.services.patients import correct_patient, register_patient
from dispensing.views.meanwhile import seen_by, told_by_others
from dispensing.views.parts import part
from dispensing.views.requests import StaffRequest

LONGEST_SEARCH = 200


@requires(Ability.PATIENT_VIEW)
@require_safe
def patient_list(request: StaffRequest) -> HttpResponse:
    return render(request, "patients/list.html", {"page": page_of(find_patients("")), "text": ""})


@requires(Ability.PATIENT_VIEW)
def patient_find(request: StaffRequest) -> HttpResponse:
    """By POST: results under the box while typing (htmx), else a page; one single match opens at once."""
    if request.method != "POST":
        return redirect("patient-list")
    text = request.POST.get("text", "")[:LONGEST_SEARCH].strip()
    page = page_of(find_patients(text, month_first()), _key(request.POST.get("after", "")))
    context = {"page": page, "text": text}
    if request.htmx:
        return render(request, "patients/_results.html", context)
    if text and page.first and len(page.rows) == 1:
        return redirect("patient-page", page.rows[0].public_id)
    return render(request, "patients/list.html", context)


def _key(text: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except ValueError:
        return None


@requires(Ability.PATIENT_EDIT)
def patient_register(request: StaffRequest) -> HttpResponse:
    form = PatientForm(request.POST or None)
    similar: list[Patient] = []
    if request.method == "POST" and form.is_valid():
        similar = _similar(form.cleaned_data)
        if not similar or _said_to_be_another(request, similar):
            references = tuple(patient.reference for patient in similar)
            patient = register_patient(actor=request.user, although_similar_to=references, **form.cleaned_data)
            messages.success(request, f"Registered as {patient.reference}.")
            return redirect("patient-page", patient.public_id)
    return render(request, "patients/edit.html", {"form": form, "similar": similar})


def _similar(fields: dict[str, Any], apart_from: Patient | None = None) -> list[Patient]:
    names = ("family_name", "given_names", "born_on", "phone")
    return list(possible_duplicates(**{name: fields[name] for name in names}, apart_from=apart_from))


def _said_to_be_another(request: StaffRequest, similar: list[Patient]) -> bool:
    """The tick counts only for the patients it stood beside."""
    shown = set(request.POST.getlist("another_person"))
    return {str(patient.public_id) for patient in similar} <= shown


@requires(Ability.PATIENT_EDIT)
def patient_correct(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    patient = get_object_or_404(Patient, public_id=patient_id)
    # The form works on a copy: a refused value must not show as the patient's name above it.
    form = PatientForm(request.POST or None, instance=Patient.objects.get(pk=patient.pk))
    if request.method == "POST" and form.is_valid():
        try:
            correct_patient(actor=request.user, patient=patient, seen=seen_by(request), **form.changed_values())
        except ChangedMeanwhile as other:
            form.add_error(None, told_by_others(other.by, "this patient", other.fields))
        else:
            messages.success(request, "Saved.")
            return redirect("patient-page", patient.public_id)
    return render(
        request, "patients/edit.html", {"form": form, "patient": patient, "last_change": last_change(patient)}
    )


@requires(Ability.PATIENT_VIEW)
@require_safe
def patient_page(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    patient = get_object_or_404(with_record(), public_id=patient_id)
    prescriptions = list(patient.prescriptions.all())
    context = {
        "patient": patient,
        "latest": prescriptions[0] if prescriptions else None,
        "earlier": prescriptions[1:],
        "orders_part": part("orders/_patient_orders.html"),
        "measurings": unfinished_measurings(patient),
    }
    return render(request, "patients/page.html", context)
