"""The forms of the pair worn now: its facts, a line for each eye as the lensmeter reads it, and both together."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from dispensing.forms.fields import FigureField, TidyCharField, WrittenDateField
from dispensing.forms.prescriptions import EyeForm
from dispensing.forms.two_eyes import TwoEyesEntry
from dispensing.models import Patient, WornPair
from dispensing.models.choices import Use
from dispensing.models.worn_pairs import LensKind
from dispensing.trade import figure


def _words(label: str, longest: int, hint: str) -> TidyCharField:
    widget = forms.TextInput(attrs={"autocomplete": "off", "dir": "auto"})
    return TidyCharField(label=label, max_length=longest, required=False, help_text=hint, widget=widget)


class WornEyeForm(EyeForm):
    """A prescription's line, and where the lens sits."""

    height_mm = FigureField(
        label="Height",
        unit="mm",
        low=figure("typed-fitting", "height_least_mm"),
        high=figure("typed-fitting", "height_most_mm"),
        required=False,
        max_digits=4,
        decimal_places=1,
    )
    base_curve_d = FigureField(
        label="Base curve",
        unit="D",
        low=0,
        high=figure("typed-frame", "curve_most_d"),
        required=False,
        max_digits=4,
        decimal_places=2,
    )


class WornPairFacts(forms.Form):
    """What the pair is, how the wearer gets on with it, and what the new one is for."""

    read_on = WrittenDateField(
        label="Read on",
        initial=timezone.localdate,
        error_messages={"required": "Write the day on which the pair was read."},
    )
    use = forms.ChoiceField(
        label="Worn for",
        choices=[("", "Choose"), *Use.choices],
        error_messages={"required": "Choose what it is worn for: readers are no measure of a distance pair."},
    )
    kind = forms.ChoiceField(label="Lenses", choices=[("", "Not known"), *LensKind.choices], required=False)
    age_years = FigureField(
        label="Age",
        unit="years",
        low=0,
        high=figure("worn-pair", "age_most_years"),
        required=False,
        max_digits=3,
        decimal_places=1,
    )
    likes = _words("Likes about it", 500, "In the wearer's own words.")
    dislikes = _words("Dislikes about it", 500, "Blur, weight, marks, distortion, when and where.")
    tasks = _words("What the new pair is for", 500, "Work, reading, screens, music, sport.")
    distances = _words("Working distances", 200, "As in: screen 65 cm, book 40 cm.")

    def __init__(self, *args: Any, patient: Patient, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.patient = patient

    def clean_read_on(self) -> Any:
        read_on = self.cleaned_data["read_on"]
        if read_on > timezone.localdate():
            raise ValidationError(f"{read_on:%d %b %Y} is in the future. Check day, month and year.")
        if read_on < self.patient.born_on:
            raise ValidationError(f"{read_on:%d %b %Y} is before the patient was born. Check the date.")
        return read_on


class WornPairEntry(TwoEyesEntry[WornPairFacts, WornEyeForm, WornPair]):
    facts_form, eye_form = WornPairFacts, WornEyeForm
    nothing_written = "Write what the lensmeter reads for at least one eye."
