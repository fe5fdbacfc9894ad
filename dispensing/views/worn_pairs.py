"""Recording what the pair worn now reads, and correcting it."""

from __future__ import annotations

import uuid
from functools import partial

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from dispensing.access import requires
from dispensing.forms.worn_pairs import WornPairEntry
from dispensing.models import Patient
from dispensing.queries.worn_pairs import with_eyes
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.services.worn_pairs import correct_worn_pair, record_worn_pair
from dispensing.views.meanwhile import opened_on, save_on_top, told_by_others
from dispensing.views.requests import StaffRequest


@requires(Ability.PRESCRIPTION_EDIT)
def worn_pair_new(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    patient = get_object_or_404(Patient, public_id=patient_id)
    entry = WornPairEntry(patient, request.POST if request.method == "POST" else None)
    if request.method == "POST" and entry.is_valid():
        record_worn_pair(actor=request.user, patient=patient, **entry.values())
        messages.success(request, "The pair worn now is on record; new orders are compared with it.")
        return redirect("patient-page", patient.public_id)
    return render(request, "worn_pairs/entry.html", {"entry": entry, "patient": patient})


@requires(Ability.PRESCRIPTION_EDIT)
def worn_pair_correct(request: StaffRequest, pair_id: uuid.UUID) -> HttpResponse:
    pair = get_object_or_404(with_eyes(), public_id=pair_id)
    data = request.POST if request.method == "POST" else None
    entry = WornPairEntry(pair.patient, data, corrected=pair)
    version = opened_on(request, pair)
    if request.method == "POST" and entry.is_valid():
        save = partial(correct_worn_pair, actor=request.user, pair=pair, **entry.values())
        try:
            save_on_top(lambda version: save(version=version), version)
        except ChangedMeanwhile as other:
            entry.facts.add_error(None, told_by_others(other, "this pair"))
            version = other.version
        else:
            messages.success(request, "Saved. Orders already sent keep the pair as it was read when they were sent.")
            return redirect("patient-page", pair.patient.public_id)
    context = {"entry": entry, "patient": pair.patient, "pair": pair, "version": version}
    return render(request, "worn_pairs/entry.html", context)
