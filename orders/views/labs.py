"""Labs for managers: who they are, and the lab's own access to its orders."""

from __future__ import annotations

import uuid
from functools import partial
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.forms.tokens import TokenForm
from dispensing.models import Practice
from dispensing.models.tokens import Scope
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.services.tokens import TokenRefused
from dispensing.views.meanwhile import opened_on, save_on_top, told_by_others
from dispensing.views.own_account import id_sent
from dispensing.views.requests import StaffRequest
from dispensing.views.taking_out import taken_out
from orders.forms.catalogues import CatalogueForm
from orders.forms.labs import LabForm
from orders.models import Lab
from orders.presentation.lab_list import LAB_HEADS, lab_rows
from orders.queries import catalogues_of, labs, tokens_of_lab
from orders.services.lab_secrets import make_secret
from orders.services.lab_users import issue_lab_token, revoke_lab_token
from orders.services.labs import add_lab, change_lab


@requires(Ability.LAB_EDIT)
@require_safe
def lab_list(request: StaffRequest) -> HttpResponse:
    return render(request, "labs/list.html", {"labs": labs()})


@requires(Ability.LIST_TAKE_OUT, Ability.LAB_EDIT)
@require_POST
def lab_list_csv(request: StaffRequest) -> HttpResponseBase:
    return taken_out(request, "labs", LAB_HEADS, lab_rows(labs()))


@requires(Ability.LAB_EDIT)
def lab_new(request: StaffRequest) -> HttpResponse:
    form = LabForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        lab = add_lab(actor=request.user, **form.cleaned_data)
        messages.success(request, f"{lab} is added. Import its catalogue next.")
        return redirect("lab-page", lab.public_id)
    return render(request, "labs/edit.html", {"form": form, "lab": Lab()})


@requires(Ability.LAB_EDIT)
def lab_page(request: StaffRequest, lab_id: uuid.UUID) -> HttpResponse:
    lab = get_object_or_404(Lab, public_id=lab_id)
    # The form works on a copy, because a refused name must not appear as the lab's name above it.
    form, version = LabForm(request.POST or None, instance=Lab.objects.get(pk=lab.pk)), opened_on(request, lab)
    if request.method == "POST" and form.is_valid():
        save = partial(change_lab, lab=lab, actor=request.user, **form.cleaned_data)
        try:
            save_on_top(lambda version: save(version=version), version)
        except ValidationError as refused:
            form.add_error(None, refused)
        except ChangedMeanwhile as other:
            form.add_error(None, told_by_others(other, "this lab"))
            version = other.version
        else:
            messages.success(request, "Saved.")
            return redirect("lab-page", lab.public_id)
    return labs_page(request, lab, form=form, version=version)


@requires(Ability.LAB_EDIT)
@require_POST
@never_cache
def lab_token(request: StaffRequest, lab_id: uuid.UUID) -> HttpResponse:
    lab = get_object_or_404(Lab, public_id=lab_id)
    form = token_form(request.POST)
    if form.is_valid():
        try:
            token = issue_lab_token(lab=lab, actor=request.user, **form.cleaned_data)
        except TokenRefused as refused:
            form.add_error(None, str(refused))
        else:
            return labs_page(request, lab, new_token=token)
    return labs_page(request, lab, token_form=form)


@requires(Ability.LAB_EDIT)
@require_POST
@never_cache
def lab_secret(request: StaffRequest, lab_id: uuid.UUID) -> HttpResponse:
    """Make a new secret, and show it this once."""
    lab = get_object_or_404(Lab, public_id=lab_id)
    return labs_page(request, lab, new_secret=make_secret(lab=lab, actor=request.user))


@requires(Ability.LAB_EDIT)
@require_POST
def lab_token_revoke(request: StaffRequest, lab_id: uuid.UUID) -> HttpResponse:
    lab = get_object_or_404(Lab, public_id=lab_id)
    token_id = id_sent(request, "token")
    if token_id and revoke_lab_token(lab=lab, actor=request.user, token_id=token_id):
        messages.success(request, "The token is ended; whatever used it can no longer read orders.")
    else:
        messages.warning(request, "That token had ended already.")
    return redirect("lab-page", lab.public_id)


def token_form(data: Any = None) -> TokenForm:
    """A lab reports as well as reads, unless somebody chooses otherwise."""
    return TokenForm(data, longest=Practice.current().token_days, may=Scope.WRITE)


def labs_page(request: StaffRequest, lab: Lab, **context: Any) -> HttpResponse:
    """A lab's own page, also as the answer to what was sent from it."""
    shown = {
        "lab": lab,
        "form": LabForm(instance=lab),
        "version": lab.version,
        "import_form": CatalogueForm(),
        "catalogues": catalogues_of(lab),
        "tokens": tokens_of_lab(lab),
        "token_form": token_form(),
        "secrets": lab.secrets.select_related("made_by").defer("text"),
        "now": timezone.now(),
    }
    return render(request, "labs/edit.html", shown | context)
