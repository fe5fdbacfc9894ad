"""The standards for finished pairs: every limit with its source, and this practice's own stricter ones."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import can, requires, signed_in
from dispensing.roles import Ability
from dispensing.services.practice_rules import restore
from dispensing.trade.facts import STANDARDS, limits_of_standard
from dispensing.trade.tolerances import FROM_MEMORY
from dispensing.views.requests import StaffRequest
from orders.forms.practice_rules import TightenForm
from orders.presentation.checks import decisions
from orders.presentation.standards import groups_of
from orders.queries import tolerances_in_force
from orders.services.practice_rules import tighten_tolerance


@signed_in
@require_safe
def standard_page(request: StaffRequest, standard: str) -> HttpResponse:
    return _page(request, _known(standard))


@requires(Ability.SETTINGS_EDIT)
@require_POST
def standard_tighten(request: StaffRequest, standard: str) -> HttpResponse:
    form = TightenForm(request.POST, rule=_known(standard), limits=limits_of_standard(standard))
    if form.is_valid():
        try:
            tighten_tolerance(actor=request.user, standard=standard, **form.cleaned_data)
        except ValidationError as refused:
            form.add_error(None, refused)
        else:
            messages.success(request, "From now on finished pairs are judged by this limit here.")
            return redirect("standard-page", standard)
    return _page(request, standard, form)


@requires(Ability.SETTINGS_EDIT)
@require_POST
def standard_restore(request: StaffRequest, standard: str) -> HttpResponse:
    """Go back to the standard's own limit."""
    try:
        restore(actor=request.user, rule=_known(standard), limit=request.POST.get("limit", ""))
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    else:
        messages.success(request, "The standard's own limit holds again.")
    return redirect("standard-page", standard)


def _known(standard: str) -> str:
    if standard not in STANDARDS:
        raise Http404
    return standard


def _page(request: StaffRequest, standard: str, form: TightenForm | None = None) -> HttpResponse:
    limits = tolerances_in_force(standard)
    context: dict[str, Any] = {
        "limits": limits,
        "groups": groups_of(limits, decisions()),
        "others": [other for other in STANDARDS if other != standard],
        "from_memory": FROM_MEMORY,
    }
    if can(request.user, Ability.SETTINGS_EDIT):
        context["tighten"] = form or TightenForm(rule=standard, limits=limits_of_standard(standard))
    return render(request, "checks/standard.html", context)
