"""What we check: every rule with its reason, limit and source; managers make limits stricter or leave questions out."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import can, requires, signed_in
from dispensing.models import Practice
from dispensing.roles import Ability
from dispensing.services.practice_rules import restore, tighten
from dispensing.views.requests import StaffRequest
from orders.forms.practice_rules import SilenceForm, TightenForm
from orders.presentation.checks import decisions, examples_shown, families_shown, rule_shown
from orders.presentation.documents import Headings, eye_rows, lens_rows
from orders.rules.registry import Rule, rule_by_id
from orders.rules.trade_list import left_out
from orders.rules.undecidable import UNDECIDABLE
from orders.services.practice_rules import can_be_silenced, silence


@signed_in
@require_safe
def check_list(request: StaffRequest) -> HttpResponse:
    """All the rules by family, and those that no data can decide."""
    families = families_shown(decisions())
    context = {
        "families": families,
        "count": sum(len(rules) for _, rules in families),
        "undecidable": [(row, rule_by_id(row.covered_by) if row.covered_by else None) for row in UNDECIDABLE],
    }
    return render(request, "checks/list.html", context)


@signed_in
@require_safe
def check_page(request: StaffRequest, rule_id: str) -> HttpResponse:
    return _page(request, _rule(rule_id))


def _rule(rule_id: str) -> Rule:
    rule = rule_by_id(rule_id)
    if rule is None:
        raise Http404
    return rule


def _page(request: StaffRequest, rule: Rule, **forms: Any) -> HttpResponse:
    headings = Headings.of(Practice.current())
    shown = rule_shown(rule, decisions())
    context: dict[str, Any] = {
        "shown": shown,
        "rule": rule,
        "left_out": left_out(rule),
        "examples": [
            {
                "example": example,
                # Made by our own picture writer from numbers and escaped text.
                "drawing": mark_safe(example.drawing),  # noqa: S308
                "eye_rows": eye_rows(example.order, headings),
                "lens_rows": lens_rows(example.order, headings),
            }
            for example in examples_shown(rule.id, (headings.right, headings.left))
        ],
    }
    if can(request.user, Ability.SETTINGS_EDIT):
        limits = tuple(one.limit for one in shown.limits)
        if any(limit.stricter for limit in limits):
            context["tighten"] = forms.get("tighten") or TightenForm(rule=rule.id, limits=limits)
        if can_be_silenced(rule) and shown.silenced is None:
            context["silence"] = forms.get("silence") or SilenceForm()
    return render(request, "checks/page.html", context)


@requires(Ability.SETTINGS_EDIT)
@require_POST
def check_tighten(request: StaffRequest, rule_id: str) -> HttpResponse:
    rule = _rule(rule_id)
    limits = tuple(one.limit for one in rule_shown(rule, {}).limits)
    form = TightenForm(request.POST, rule=rule.id, limits=limits)
    if form.is_valid():
        try:
            row = tighten(actor=request.user, rule=rule.id, **form.cleaned_data)
        except ValidationError as refused:
            form.add_error(None, " ".join(refused.messages))
        else:
            messages.success(request, f"From now on this practice checks by {row.value:g} here.")
            return redirect("check-page", rule.id)
    return _page(request, rule, tighten=form)


@requires(Ability.SETTINGS_EDIT)
@require_POST
def check_silence(request: StaffRequest, rule_id: str) -> HttpResponse:
    rule = _rule(rule_id)
    form = SilenceForm(request.POST)
    if form.is_valid():
        try:
            silence(actor=request.user, rule=rule.id, reason=form.cleaned_data["reason"])
        except ValidationError as refused:
            messages.error(request, " ".join(refused.messages))
        else:
            messages.success(request, "This question is no longer asked here.")
        return redirect("check-page", rule.id)
    return _page(request, rule, silence=form)


@requires(Ability.SETTINGS_EDIT)
@require_POST
def check_restore(request: StaffRequest, rule_id: str) -> HttpResponse:
    """Go back to the trade's limit, or to asking the question again."""
    rule = _rule(rule_id)
    try:
        restore(actor=request.user, rule=rule.id, limit=request.POST.get("limit", ""))
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    else:
        messages.success(request, "The trade's own rule holds again.")
    return redirect("check-page", rule.id)
