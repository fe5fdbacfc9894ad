"""Which prescriptions end soon: of what days, and only of patients who agreed to be told by some way."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils import timezone

from dispensing.forms.fields import WrittenDateField

WAYS = [
    ("", "Agreed to be contacted"),
    ("email", "Agreed to be told by e-mail"),
    ("text", "Agreed to be told by text message"),
]
USUAL_WEEKS = 6


class EndingForm(forms.Form):
    """Both days count. Opened without a choice it asks for the next weeks."""

    first = WrittenDateField(label="Ends from", required=True, error_messages={"required": "Write the first day."})
    last = WrittenDateField(label="To", required=True, error_messages={"required": "Write the last day."})
    way = forms.ChoiceField(
        label="Of patients who",
        choices=WAYS,
        required=False,
        error_messages={"invalid_choice": "There is no way “%(value)s” to tell patients. Choose from the list."},
    )

    @classmethod
    def of(cls, asked: QueryDict) -> EndingForm:
        today = timezone.localdate()
        usual = {"first": _written(today), "last": _written(today + timedelta(weeks=USUAL_WEEKS)), "way": ""}
        return cls({name: asked.get(name, value) for name, value in usual.items()})

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and first > last:
            self.add_error("last", "The period ends before it begins. Write a last day that is not before the first.")
        return cleaned


def _written(day: date) -> str:
    """As people write it, the same in every country."""
    return f"{day:%-d %b %Y}"
