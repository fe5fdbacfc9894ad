"""Which figures to show: of the last months, or of a period from month to month, sorted by something."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from django import forms
from django.http import QueryDict
from django.utils import timezone

MONTHS = [("3", "Three months"), ("12", "A year"), ("36", "Three years")]
USUAL = "12"
A_YEAR = 12


class FiguresForm(forms.Form):
    """A choice that is not offered means a year, and `gone` says so."""

    gone = ""

    months = forms.ChoiceField(label="Of the last", choices=MONTHS, required=False, initial=USUAL)

    @classmethod
    def of(cls, asked: QueryDict) -> FiguresForm:
        """A page opened without a choice, or with one that is not offered, shows the usual one as chosen."""
        wanted = asked.get("months", USUAL)
        form = cls({"months": wanted if wanted in dict(MONTHS) else USUAL})
        if wanted not in dict(MONTHS):
            form.gone = "There is no such period to choose; a year is shown."
        return form

    @property
    def chosen(self) -> str:
        return str(self.data["months"])

    @property
    def since(self) -> date:
        return timezone.localdate() - timedelta(days=int(self.chosen) * 365 // 12)


class PeriodForm(forms.Form):
    """From one month to another, both as in 2026-11. What is not offered any more is refused and said."""

    first = forms.ChoiceField(label="From")
    last = forms.ChoiceField(label="To")
    by = forms.ChoiceField(label="By")

    def __init__(self, asked: QueryDict, months: Sequence[tuple[str, str]], sorted_by: Sequence[tuple[str, str]]):
        """``months``: every month that can be chosen, in order, with its words. Opened without a choice it shows the
        last year.
        """
        usual = {"first": months[-min(A_YEAR, len(months))][0], "last": months[-1][0], "by": sorted_by[0][0]}
        super().__init__({name: asked.get(name) or usual[name] for name in usual})
        for name, choices in (("first", months), ("last", months), ("by", sorted_by)):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = list(choices)
        began = f"The figures begin in {months[0][1]} and go to {months[-1][1]}; “%(value)s” is not among them."
        self.fields["first"].error_messages["invalid_choice"] = began
        self.fields["last"].error_messages["invalid_choice"] = began
        self.fields["by"].error_messages["invalid_choice"] = (
            "Figures are not sorted by “%(value)s”. Choose from the list."
        )

    def clean(self) -> dict[str, str]:
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and first > last:
            self.add_error("last", "The period ends before it begins. Choose an end that is not before its beginning.")
        return cleaned
