"""The forms of the pair worn now: its facts, a line for each eye as the lensmeter reads it, and both together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils import timezone

from dispensing.forms.fields import FigureField, TidyCharField, WrittenDateField
from dispensing.forms.prescription_entry import as_typed
from dispensing.forms.prescriptions import EyeForm
from dispensing.models import Patient, WornPair
from dispensing.models.choices import Use
from dispensing.models.worn_pairs import LensKind
from dispensing.optics.conventions import EYES, Eye
from dispensing.trade import figure

Data = QueryDict | Mapping[str, str] | None


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


class WornPairEntry:
    """``facts``, ``right`` and ``left``: the forms. ``corrected``: the pair being corrected, if any."""

    def __init__(self, patient: Patient, data: Data = None, corrected: WornPair | None = None):
        self.patient, self.data, self.corrected = patient, data, corrected
        initial = _initial(corrected)
        self.facts = WornPairFacts(data, patient=patient, initial=initial["facts"])
        self.right = WornEyeForm(data, prefix="right", initial=initial["right"])
        self.left = WornEyeForm(data, prefix="left", initial=initial["left"])

    @property
    def forms(self) -> tuple[WornPairFacts, WornEyeForm, WornEyeForm]:
        return self.facts, self.right, self.left

    @property
    def eyes(self) -> tuple[tuple[Eye, WornEyeForm], ...]:
        return ("right", self.right), ("left", self.left)

    def is_valid(self) -> bool:
        if self.data is None:
            return False
        for form in self.forms:
            form.full_clean()
        if self.right.is_empty and self.left.is_empty and not (self.right.errors or self.left.errors):
            self.right.add_error("sphere", "Write what the lensmeter reads for at least one eye.")
        return not any(form.errors for form in self.forms)

    def values(self) -> dict[str, Any]:
        """The arguments for the services: the facts, and the fields of each eye that has any."""
        eyes = {eye: dict(form.cleaned_data) for eye, form in self.eyes if not form.is_empty}
        return {"facts": dict(self.facts.cleaned_data), "eyes": eyes}


def _initial(pair: WornPair | None) -> dict[str, Any]:
    if pair is None:
        return {"facts": None, "right": None, "left": None}
    rows = {eye: pair.eye(eye) for eye in EYES}
    return {"facts": {name: getattr(pair, name) for name in WornPairFacts.base_fields}} | {
        eye: {name: _typed(name, getattr(row, name)) for name in WornEyeForm.base_fields} if row else None
        for eye, row in rows.items()
    }


def _typed(name: str, value: Any) -> Any:
    return as_typed(name, value) if name in EyeForm.base_fields else value
