"""Choosing the frame in which a fitting is taken or to which it is copied: the patient's own first, then the stock."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from dispensing.access import requires
from dispensing.forms.frames import FrameSearchForm
from dispensing.models import Fitting, Patient
from dispensing.queries.frames import FrameSearch, own_frames, stock_page
from dispensing.roles import Ability
from dispensing.views.requests import StaffRequest

EDIT = (Ability.FITTING_EDIT, Ability.PATIENT_VIEW)
FRAMES_A_PAGE = 20


@requires(*EDIT)
@require_safe
def fitting_new(request: StaffRequest, patient_id: UUID) -> HttpResponse:
    patient = get_object_or_404(Patient, public_id=patient_id)
    from_photos = request.GET.get("from") == "photos"
    context = {"from_photos": from_photos, "then": "photo-fitting-new" if from_photos else "fitting-record"}
    return _choice(request, {"patient": patient, **context})


@requires(*EDIT)
@require_safe
def fitting_copy_choose(request: StaffRequest, fitting_id: UUID) -> HttpResponse:
    fitting = get_object_or_404(Fitting.objects.select_related("patient", "frame"), public_id=fitting_id)
    return _choice(request, {"patient": fitting.patient, "copied": fitting})


def _choice(request: StaffRequest, context: dict[str, Any]) -> HttpResponse:
    form = FrameSearchForm(request.GET)
    form.fields["text"].widget.attrs["autofocus"] = True
    chosen = form.cleaned_data if form.is_valid() else {}
    search = FrameSearch(text=chosen.get("text", ""), mount=chosen.get("mount", ""))
    kept = {name: value for name, value in chosen.items() if value and name in ("text", "mount")}
    kept |= {"from": "photos"} if context.get("from_photos") else {}
    context |= {
        "form": form,
        "page": stock_page(search, after=request.GET.get("after", ""), size=FRAMES_A_PAGE),
        "query": urlencode(kept),
        "searched": bool(search.text or search.mount),
        "own": own_frames(context["patient"]),
    }
    template = "fittings/_frames.html" if request.htmx else "fittings/choose_frame.html"
    return render(request, template, context)
