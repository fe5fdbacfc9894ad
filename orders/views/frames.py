"""Frames that suit: every frame in stock compared, for a draft and its lenses or for a patient before one is chosen."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from dispensing.access import requires
from dispensing.models import Patient
from dispensing.roles import Ability
from dispensing.views.requests import StaffRequest
from orders.forms.frames import FramesForm, ListForm
from orders.presentation.frames.page import FramesPage
from orders.queries import for_page
from orders.services.comparing_frames import frames_for_draft, frames_for_patient, lenses_on_offer, usual_choice

NO_DRAFT = "This order is no longer a draft, so its frame cannot be changed any more."
NO_LENS = "Choose a lab and a lens on the draft first: frames are compared for a lens."


@requires(Ability.ORDER_EDIT)
@require_safe
def order_frames(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    order = get_object_or_404(for_page(), public_id=order_id)
    compared = frames_for_draft(order) if order.is_draft else None
    if compared is None:
        messages.error(request, NO_LENS if order.is_draft else NO_DRAFT)
        return redirect("order-page", order.public_id)
    form = ListForm(request.GET)
    form.is_valid()
    page = FramesPage(compared, form, order.frame, order.fitting.frame if order.fitting else None)
    return render(request, "orders/frames.html", {**page.context(), "order": order, "patient": order.patient})


@requires(Ability.ORDER_EDIT)
@require_http_methods(["GET", "HEAD", "POST"])
def patient_frames(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    """What is asked for is posted: a PD is about the patient and belongs into no address."""
    patient = get_object_or_404(Patient, public_id=patient_id)
    on_offer = lenses_on_offer()
    form = FramesForm(request.POST or None, on_offer=on_offer, usual=usual_choice(patient, on_offer))
    form.is_valid()
    fitting = patient.fittings.select_related("frame").first()
    compared = frames_for_patient(patient, form.lenses, form.pds)
    page = FramesPage(compared, form, None, fitting.frame if fitting else None)
    prescription = patient.prescriptions.first()
    context = {**page.context(), "patient": patient, "prescription": prescription, "fitting": fitting}
    return render(request, "orders/frames.html", context)
