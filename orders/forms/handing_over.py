"""The form of a hand-over, and that of the tray in which a pair lies."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from dispensing.forms.fields import TidyCharField, WrittenDateField, offer
from dispensing.queries.protection import registered_people
from dispensing.trade import figure
from orders.forms.events import NOT_REGISTERED
from orders.models.aftercare import Collector, Fit, PatientsCopy

FIRST, LAST = (figure("adaptation-check", f"{end}_days") for end in ("first", "last"))
WHEN_ASKED = f"Usual for a first progressive, after {FIRST:g} to {LAST:g} days."


class HandOverForm(forms.Form):
    """``cautions``: what is to be said of this pair; those ticked were said."""

    reference = TidyCharField(
        label="Patient's reference",
        max_length=20,
        help_text="Scan or type it from the label or the patient's paper, not from this page.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
        error_messages={"required": "Scan or type the patient's reference."},
    )
    born_on = WrittenDateField(
        label="Date of birth, as the patient says it",
        help_text="As in 2 Apr 1968 or 02/04/1968.",
        error_messages={"required": "Ask for the date of birth and type it."},
    )
    given_to = forms.ChoiceField(label="Given to", choices=Collector.choices, initial=Collector.PATIENT)
    collector_name = TidyCharField(
        label="Name of who takes it", required=False, max_length=200, help_text="Only if it is not the patient."
    )
    fit = forms.ChoiceField(label="How it sits", choices=Fit.choices, widget=forms.RadioSelect, initial=Fit.GOOD)
    acuity = TidyCharField(
        label="Seen with it",
        required=False,
        max_length=200,
        help_text="Distance and near, as in: R 6/6, L 6/6, both N5. Leave it empty if it was not tested.",
    )
    cautions = forms.MultipleChoiceField(
        label="Said to the wearer", required=False, widget=forms.CheckboxSelectMultiple
    )
    care_given = forms.BooleanField(label="Care explained, case and cloth given", required=False)
    patients_copy = forms.ChoiceField(
        label="Patient's copy", choices=PatientsCopy.choices, initial=PatientsCopy.PRINTED
    )
    next_test_on = WrittenDateField(label="Next eye test", required=False)
    follow_up_on = WrittenDateField(label="Ask how it goes on", required=False, help_text=WHEN_ASKED)
    registered = forms.ModelChoiceField(
        label="Registered person who hands it over",
        queryset=registered_people(),
        to_field_name="username",
        required=False,
        empty_label="Nobody named",
        help_text="Needed for a child or a registered sight-impaired person.",
        error_messages={"invalid_choice": NOT_REGISTERED},
    )
    note = TidyCharField(label="Note", required=False, max_length=500)

    def __init__(self, *args: Any, cautions: tuple[str, ...], **kwargs: Any):
        super().__init__(*args, **kwargs)
        offer(self, "cautions", [(text, text) for text in cautions])

    def clean_cautions(self) -> str:
        return "\n".join(self.cleaned_data["cautions"])

    def clean_next_test_on(self) -> date | None:
        return _still_to_come(self.cleaned_data["next_test_on"])

    def clean_follow_up_on(self) -> date | None:
        return _still_to_come(self.cleaned_data["follow_up_on"])


def _still_to_come(day: date | None) -> date | None:
    if day is not None and day <= timezone.localdate():
        raise ValidationError("This day has passed. Enter a day to come, or leave it empty.")
    return day


class TrayForm(forms.Form):
    tray = TidyCharField(label="Tray", required=False, max_length=12, help_text="Empty: it lies in none.")
