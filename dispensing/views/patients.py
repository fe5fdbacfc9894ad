"""Pages of patients: finding, registering, reading and correcting. Searches use POST: no name in an address or log."""

import uuid
from collections.abc import Sequence
from functools import partial

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from dispensing.access import abilities_of, requires
from dispensing.finding import found_elsewhere
from dispensing.forms.patients import PatientForm
from dispensing.forms.waiting import WaitingForm
from dispensing.models import Patient
from dispensing.presentation.patients import next_step
from dispensing.queries.finding import LONGEST_SEARCH, find
from dispensing.queries.patients import with_record
from dispensing.queries.photo_fittings import unfinished_measurings
from dispensing.queries.waiting import wait_of
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.services.patients import SeemsRegistered, correct_patient, register_patient
from dispensing.views.meanwhile import opened_on, save_on_top, told_by_others
from dispensing.views.parts import part
from dispensing.views.requests import StaffRequest


@lists_patients
@requires(Ability.PATIENT_VIEW)
@require_safe
def patient_list(request: StaffRequest) -> HttpResponse:
    return render(request, "patients/list.html", {"page": find("").page, "text": ""})


@lists_patients
@requires(Ability.PATIENT_VIEW)
def patient_find(request: StaffRequest) -> HttpResponse:
    """By POST: results under the box while typing (htmx), otherwise a page; a single match opens at once.

    An order's number finds the order, in the same box.
    """
    if request.method != "POST":
        return redirect("patient-list")
    text = request.POST.get("text", "")[:LONGEST_SEARCH].strip()
    found = find(text, after=request.POST.get("after", ""))
    elsewhere = found_elsewhere(text, request.user) if found.page.first else []
    context = {"page": found.page, "others": found.others, "near": found.near, "text": text, "elsewhere": elsewhere}
    if request.htmx:
        return render(request, "patients/_results.html", context)
    if len(elsewhere) == 1 and (elsewhere[0].sure or not found.anybody):
        return redirect(elsewhere[0].url)
    if text and found.only and not elsewhere:
        return redirect("patient-page", found.only.public_id)
    return render(request, "patients/list.html", context)


def _key(text: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except ValueError:
        return None


@requires(Ability.PATIENT_EDIT)
def patient_register(request: StaffRequest) -> HttpResponse:
    form = PatientForm(request.POST or None)
    similar: Sequence[Patient] = ()
    if request.method == "POST" and form.is_valid():
        others = _said_to_be_others(request)
        try:
            patient = register_patient(actor=request.user, although_similar_to=others, **form.cleaned_data)
        except SeemsRegistered as refused:
            similar = refused.similar
        else:
            messages.success(request, f"Registered as {patient.reference}.")
            return redirect("patient-page", patient.public_id)
    return render(request, "patients/edit.html", {"form": form, "similar": similar})


def _said_to_be_others(request: StaffRequest) -> list[str]:
    """The references of the patients shown beside the tick; the tick applies to no others."""
    shown = [key for text in request.POST.getlist("another_person") if (key := _key(text))]
    return list(Patient.objects.filter(public_id__in=shown).values_list("reference", flat=True))


@requires(Ability.PATIENT_EDIT)
def patient_correct(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    patient = get_object_or_404(Patient, public_id=patient_id)
    # The form works on a copy: a refused value must not appear as the patient's name above the form.
    form = PatientForm(request.POST or None, instance=Patient.objects.get(pk=patient.pk))
    version = opened_on(request, patient)
    if request.method == "POST" and form.is_valid():
        save = partial(correct_patient, actor=request.user, patient=patient, **form.changed_values())
        try:
            save_on_top(lambda version: save(version=version), version)
        except ChangedMeanwhile as other:
            form.add_error(None, told_by_others(other, "this patient"))
            version = other.version
        else:
            messages.success(request, "Saved.")
            return redirect("patient-page", patient.public_id)
    return render(request, "patients/edit.html", {"form": form, "patient": patient, "version": version})


@requires(Ability.PATIENT_VIEW)
@require_safe
def patient_page(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    patient = get_object_or_404(with_record(), public_id=patient_id)
    prescriptions = list(patient.prescriptions.all())
    context = {
        "patient": patient,
        "latest": prescriptions[0] if prescriptions else None,
        "earlier": prescriptions[1:],
        "step": next_step(patient, abilities_of(request.user)),
        "step_part": part("orders/_next_step.html") or "patients/_next_step.html",
        "orders_part": part("orders/_patient_orders.html"),
        "measurings": unfinished_measurings(patient),
        "wait": wait_of(patient),
        "waiting_form": WaitingForm(),
    }
    return render(request, "patients/page.html", context)
