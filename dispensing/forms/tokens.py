"""Asking for an API token."""

from __future__ import annotations

from typing import Any

from django import forms

from dispensing.forms.fields import TidyCharField
from dispensing.models.tokens import Scope


class TokenForm(forms.Form):
    """``longest``: the days after which the practice ends every token. ``may``: the scope that is chosen at first."""

    name = TidyCharField(label="Name", max_length=60, help_text="What it is for, as in Till. The audit trail names it.")
    scope = forms.ChoiceField(label="It may", choices=Scope.choices, widget=forms.RadioSelect)
    days = forms.IntegerField(
        label="It ends after",
        min_value=1,
        widget=forms.NumberInput(attrs={"data-unit": "days", "inputmode": "numeric"}),
    )

    def __init__(self, data: Any = None, *, longest: int, may: Scope = Scope.READ):
        super().__init__(data)
        self.fields["scope"].initial = may
        self.fields["days"].initial = longest
        self.fields["days"].help_text = f"At most {longest} days, which a manager sets for the practice."
        self.longest = longest

    def clean_days(self) -> int:
        days: int = self.cleaned_data["days"]
        if days > self.longest:
            raise forms.ValidationError(f"{days} days: at most {self.longest} can be chosen.")
        return days
