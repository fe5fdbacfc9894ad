"""A manager's own limit for a rule, or a question left out; each with its reason."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import QueryDict

from dispensing.forms.fields import offer
from dispensing.trade.facts import Fact, fact_named

REASON_HELP = "Shown beside the rule and on the audit trail."


class TightenForm(forms.Form):
    limit = forms.ChoiceField(label="Figure")
    value = forms.FloatField(label="Here", widget=forms.TextInput(attrs={"inputmode": "decimal"}))
    reason = forms.CharField(label="Why", max_length=300, help_text=REASON_HELP)

    def __init__(self, data: QueryDict | None = None, *, rule: str, limits: tuple[Fact, ...]):
        super().__init__(data, auto_id="tighten-%s")
        self.rule = rule
        offer(self, "limit", [(limit.name, self._choice(limit)) for limit in limits if limit.stricter])

    @staticmethod
    def _choice(limit: Fact) -> str:
        return f"{limit.label}, {limit.written()}: may be set {limit.stricter}"

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        limit, value = fact_named(self.rule, cleaned.get("limit", "")), cleaned.get("value")
        if limit is not None and value is not None and not limit.allows(value):
            text = f"{limit.written(value)} is not stricter than the trade's {limit.written()}."
            self.add_error("value", f"{text} Enter a {limit.stricter} figure.")
        return cleaned


class SilenceForm(forms.Form):
    reason = forms.CharField(label="Why", max_length=300, help_text=REASON_HELP)

    def __init__(self, data: QueryDict | None = None):
        super().__init__(data, auto_id="silence-%s")
