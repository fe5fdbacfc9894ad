"""What is typed and pressed on the page of the desk's day."""

from __future__ import annotations

from django import forms

from dispensing.forms.fields import TidyCharField
from orders.desk_queries import UNCOLLECTED_DAYS
from orders.progress import BY_HAND, EventKind
from orders.services.calling import FROM_A_LIST


class CallForm(forms.Form):
    """One press: what happened, with a note if one was typed."""

    kind = forms.TypedChoiceField(choices=[(kind.value, BY_HAND[kind]) for kind in FROM_A_LIST], coerce=EventKind)
    seen = forms.IntegerField(min_value=0)
    note = TidyCharField(required=False, max_length=500)

    def clean_note(self) -> str:
        note = str(self.cleaned_data["note"])
        if self.cleaned_data.get("kind") == EventKind.NOTE and not note:
            raise forms.ValidationError("Write the note first, then press Note.")
        return note


class CounterForm(forms.Form):
    """Who stands at the counter. Sent by POST: nothing about a patient gets into an address."""

    text = TidyCharField(
        label="Who is here?",
        required=False,
        max_length=200,
        help_text="Part of a name, a date of birth, an order number or a tray.",
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off", "dir": "auto"}),
    )


def days_asked(text: str) -> int | None:
    """Since how many days uncollected, from the address; 0 for all, None if that is no choice of the page."""
    choices = {str(days): days for days in UNCOLLECTED_DAYS} | {"": 0}
    return choices.get(text)
