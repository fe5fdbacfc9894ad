"""A lab's catalogues: taken in, looked at beside the one in use, taken into use or put back, and downloaded."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.documents import Fault, InvalidDocument
from dispensing.request_size import takes_files
from dispensing.roles import Ability
from dispensing.views.requests import StaffRequest
from orders.forms.catalogues import CatalogueForm, UseForm
from orders.models import Catalogue, Lab
from orders.presentation.catalogues import CataloguePage
from orders.services.catalogue_looks import Look, look_at
from orders.services.catalogues import AnotherInUse, NotConfirmed, take_in, use_catalogue
from orders.views.labs import labs_page

MOST_FAULTS_SHOWN = 20


@requires(Ability.LAB_EDIT)
@require_POST
@takes_files
def catalogue_import(request: StaffRequest, lab_id: uuid.UUID) -> HttpResponse:
    lab = get_object_or_404(Lab, public_id=lab_id)
    form = CatalogueForm(request.POST, request.FILES)
    if not form.is_valid():
        return labs_page(request, lab, import_form=form)
    try:
        catalogue = take_in(lab=lab, content=form.cleaned_data["file"].read(), actor=request.user)
    except InvalidDocument as refused:
        return labs_page(request, lab, import_form=form, faults=_shown(refused.faults))
    return redirect("catalogue-page", catalogue.public_id)


def _shown(faults: tuple[Fault, ...]) -> list[str]:
    shown = [str(fault) for fault in faults[:MOST_FAULTS_SHOWN]]
    left = len(faults) - len(shown)
    return [*shown, f"… and {left} more"] if left else shown


@requires(Ability.LAB_EDIT)
@require_safe
def catalogue_page(request: StaffRequest, catalogue_id: uuid.UUID) -> HttpResponse:
    look = look_at(_catalogue(catalogue_id))
    return _page(request, look, UseForm(doubts=look.doubts))


@requires(Ability.LAB_EDIT)
@require_POST
def catalogue_use(request: StaffRequest, catalogue_id: uuid.UUID) -> HttpResponse:
    """Take it into use, if what is unusual is confirmed and the one in use is still the one it was looked at beside."""
    catalogue = _catalogue(catalogue_id)
    look = look_at(catalogue)
    form = UseForm(request.POST, doubts=look.doubts)
    if form.is_valid():
        beside = Catalogue.objects.filter(public_id=form.cleaned_data["beside"]).first()
        try:
            use_catalogue(
                catalogue=catalogue, actor=request.user, confirmed=form.cleaned_data["confirmed"], beside=beside
            )
        except (AnotherInUse, NotConfirmed) as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"The catalogue issued {catalogue.issued_on or 'without a date'} is in use.")
            return redirect("lab-page", catalogue.lab.public_id)
    return _page(request, look_at(catalogue), form)


def _page(request: StaffRequest, look: Look, form: UseForm) -> HttpResponse:
    return render(request, "labs/catalogue.html", {"page": CataloguePage(look), "form": form})


def _catalogue(catalogue_id: uuid.UUID) -> Catalogue:
    return get_object_or_404(Catalogue.objects.select_related("lab", "imported_by"), public_id=catalogue_id)


@requires(Ability.ORDER_VIEW)
@require_safe
def catalogue_json(request: StaffRequest, catalogue_id: uuid.UUID) -> HttpResponse:
    catalogue = _catalogue(catalogue_id)
    name = f"catalogue-{catalogue.issued_on or catalogue.pk}.json"
    return HttpResponse(
        catalogue.text,
        content_type="application/json",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
