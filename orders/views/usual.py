"""What is usually ordered from a lab, for managers to set."""

from __future__ import annotations

import uuid
from functools import partial

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from dispensing.access import requires
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.views.meanwhile import opened_on, save_on_top, told_by_others
from dispensing.views.requests import StaffRequest
from orders.facts import catalogue_document
from orders.forms.usual import UsualForm
from orders.models import Lab
from orders.services.drafts import catalogue_in_use
from orders.services.usual import set_usual


@requires(Ability.LAB_EDIT)
def lab_usual(request: StaffRequest, lab_id: uuid.UUID) -> HttpResponse:
    """The choices that a new draft for this lab begins with."""
    lab = get_object_or_404(Lab, public_id=lab_id)
    row, version = catalogue_in_use(lab), opened_on(request, lab)
    form = UsualForm(request.POST or None, lab=lab, catalogue=catalogue_document(row) if row else None)
    if request.method == "POST" and form.is_valid():
        save = partial(set_usual, lab=lab, actor=request.user, **form.values())
        try:
            save_on_top(lambda version: save(version=version), version)
        except ValidationError as refused:
            form.add_error(None, refused)
        except ChangedMeanwhile as other:
            form.add_error(None, told_by_others(other, "this lab"))
            version = other.version
        else:
            messages.success(request, "Saved. New orders begin with it.")
            return redirect("lab-page", lab.public_id)
    return render(request, "labs/usual.html", {"form": form, "lab": lab, "version": version})
