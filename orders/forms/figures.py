"""Which figures to show: since when, and of which lab, design and quantity."""

from __future__ import annotations

from datetime import date, timedelta

from django import forms
from django.http import QueryDict
from django.utils import timezone

MONTHS = [("3", "Three months"), ("12", "A year"), ("36", "Three years")]
USUAL = "12"


class FiguresForm(forms.Form):
    """A choice that is not offered means a year."""

    months = forms.ChoiceField(label="Of the last", choices=MONTHS, required=False, initial=USUAL)

    @classmethod
    def of(cls, asked: QueryDict) -> FiguresForm:
        """A page opened without a choice shows the usual one as chosen."""
        return cls(asked if "months" in asked else {"months": USUAL})

    @property
    def chosen(self) -> str:
        return self.cleaned_data["months"] or USUAL if self.is_valid() else USUAL

    @property
    def since(self) -> date:
        return timezone.localdate() - timedelta(days=int(self.chosen) * 365 // 12)
