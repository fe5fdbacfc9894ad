"""The forms of one prescription: its facts, one line for each eye, and the pasted line.

Checks of a single field are in ``power_fields``, and what only needs a tick is in ``dispensing.prescribing.remarks``;
the three forms are brought together by :class:`dispensing.forms.prescription_entry.PrescriptionEntry`.
"""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from dispensing.forms.fields import FigureField, TidyCharField, WrittenDateField
from dispensing.forms.power_fields import AddField, AxisField, PowerField, PrismField
from dispensing.models import Patient, Practice
from dispensing.models.choices import HorizontalBase, Use, VerticalBase
from dispensing.models.prescriptions import Source
from dispensing.trade import figure

_SIGNED = [("", "Not known"), ("yes", "Yes"), ("no", "No")]


def _base(label: str, choices: list[tuple[str, str]]) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=[("", "–"), *choices], required=False)


class EyeForm(forms.Form):
    """One eye. Fields that belong together must be filled in together; an eye left wholly empty has no prescription."""

    sphere = PowerField(label="Sphere")
    cylinder = PowerField(label="Cylinder")
    axis = AxisField(label="Axis", inputmode="numeric")
    add = AddField(label="Add")
    prism_horizontal = PrismField(label="H prism")
    prism_horizontal_base = _base("H base", HorizontalBase.choices)
    prism_vertical = PrismField(label="V prism")
    prism_vertical_base = _base("V base", VerticalBase.choices)
    intermediate_add = AddField(label="Interm. add")
    acuity = TidyCharField(
        label="Acuity", max_length=20, required=False, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        self._need_sphere(cleaned)
        self._need_cylinder_with_axis(cleaned)
        for name, words in (("prism_horizontal", "in or out"), ("prism_vertical", "up or down")):
            self._need_base(cleaned, name, words)
        return cleaned

    @property
    def is_empty(self) -> bool:
        return not any(_is_written(value) for value in self.cleaned_data.values())

    @property
    def notes(self) -> tuple[str, ...]:
        """What was read differently from how it was typed, field by field: axis 0 as 180."""
        read = getattr(self, "cleaned_data", {})
        return AxisField.notes(str(self["axis"].value())) if read.get("axis") else ()

    def _need_sphere(self, cleaned: dict[str, Any]) -> None:
        others = any(_is_written(value) for name, value in cleaned.items() if name != "sphere")
        if others and "sphere" in cleaned and cleaned["sphere"] is None:
            self.add_error("sphere", "The sphere is missing. Write 0.00 or plano where there is none.")

    def _need_cylinder_with_axis(self, cleaned: dict[str, Any]) -> None:
        if "cylinder" in self.errors or "axis" in self.errors:
            return
        cylinder, axis = cleaned.get("cylinder"), cleaned.get("axis")
        if cylinder and axis is None:
            self.add_error("axis", "A cylinder needs its axis: a whole number from 1 to 180.")
        if axis is not None and cylinder is None:
            self.add_error("cylinder", "An axis is written but no cylinder. Write the cylinder, or clear the axis.")
        if not cylinder and cylinder is not None:
            # A cylinder of 0.00 means no cylinder, so its axis has no meaning.
            cleaned["cylinder"] = cleaned["axis"] = None

    def _need_base(self, cleaned: dict[str, Any], name: str, words: str) -> None:
        base = f"{name}_base"
        if cleaned.get(name) and not cleaned.get(base) and base not in self.errors:
            self.add_error(base, f"A prism needs its base: {words}.")
        elif cleaned.get(base) and name in cleaned and not cleaned[name]:
            self.add_error(name, "A base is chosen but no prism. Write the amount, or clear the base.")


class PrescribedEyeForm(EyeForm):
    """One eye of a prescription. A balance lens needs no power of its own: the lab matches it to its fellow."""

    balance = forms.BooleanField(label="Balance lens", required=False)

    def _need_sphere(self, cleaned: dict[str, Any]) -> None:
        of_a_power = ("cylinder", "axis", "prism_horizontal", "prism_vertical")
        if not cleaned.get("balance") or any(_is_written(cleaned.get(name)) for name in of_a_power):
            super()._need_sphere(cleaned)


def _is_written(value: Any) -> bool:
    """Whether anything stands in a field: a figure of nought does, a tick that is not set does not."""
    return value is not False and value not in (None, "")


def vertex_of_a_test(label: str, hint: str = "") -> FigureField:
    return FigureField(
        label=label,
        help_text=hint,
        unit="mm",
        low=figure("typed-prescription", "vertex_least_mm"),
        high=figure("typed-prescription", "vertex_most_mm"),
        required=False,
        max_digits=4,
        decimal_places=1,
    )


class PrescriptionFacts(forms.Form):
    """Who prescribed it, when, for what, and how it came here."""

    tested_on = WrittenDateField(
        label="Date of the test",
        error_messages={"required": "Write the date of the test; it decides how long it holds."},
    )
    expires_on = WrittenDateField(
        label="Valid until", required=False, help_text="If it is printed on the prescription."
    )
    use = forms.ChoiceField(
        label="Use",
        choices=[("", "Choose"), *Use.choices],
        error_messages={"required": "Choose what it is for; otherwise the wrong power may be made."},
    )
    source = forms.ChoiceField(label="How it came", choices=Source.choices, initial=Source.OWN_TEST)
    prescriber = TidyCharField(
        label="Prescriber",
        max_length=200,
        widget=forms.TextInput(attrs={"list": "known-prescribers", "autocomplete": "off"}),
        error_messages={"required": "Write who prescribed it."},
    )
    prescriber_address = TidyCharField(label="Prescriber's address", max_length=300, required=False)
    signed = forms.ChoiceField(label="Original is signed", choices=_SIGNED, required=False)
    vertex_mm = vertex_of_a_test("Vertex distance of the test")
    notes = forms.CharField(
        label="Notes", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2, "dir": "auto"})
    )

    def __init__(self, *args: Any, patient: Patient, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.patient = patient
        self.own_vertex_mm = Practice.current().test_vertex_mm
        if self.own_vertex_mm is not None:
            told = f"Left empty for a test made here, it is {self.own_vertex_mm:f} mm."
            self.fields["vertex_mm"].help_text = told

    def clean_tested_on(self) -> Any:
        tested_on = self.cleaned_data["tested_on"]
        if tested_on > timezone.localdate():
            raise ValidationError(f"{tested_on:%d %b %Y} is in the future. Check day, month and year.")
        if tested_on < self.patient.born_on:
            raise ValidationError(
                f"{tested_on:%d %b %Y} is before the patient was born ({self.patient.born_on:%d %b %Y}). "
                "Check the date, and that this is the right patient."
            )
        return tested_on

    def clean_signed(self) -> bool | None:
        return {"yes": True, "no": False}.get(self.cleaned_data["signed"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        tested_on, expires_on = cleaned.get("tested_on"), cleaned.get("expires_on")
        if tested_on and expires_on and expires_on < tested_on:
            self.add_error("expires_on", "This is before the date of the test. Check both dates.")
        if cleaned.get("source") == Source.OWN_TEST and cleaned.get("vertex_mm", "") is None:
            cleaned["vertex_mm"] = self.own_vertex_mm
        return cleaned


class LineForm(forms.Form):
    """One or two lines as a prescriber wrote them."""

    line = forms.CharField(
        label="Paste or type it as written",
        max_length=300,
        required=False,
        help_text="As in R -3.25/-1.00x170 L -2.75/-0.50x10 add 2.00; OD/OS, plano, DS and commas are understood.",
        error_messages={"max_length": "This is too long for a prescription. Paste only the powers."},
        widget=forms.Textarea(attrs={"rows": 2, "autocomplete": "off", "spellcheck": "false", "autofocus": True}),
    )

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        if self.is_bound:
            # Once a line has been read, typing continues in the fields; htmx would move the focus back here.
            del self.fields["line"].widget.attrs["autofocus"]

    def clean_line(self) -> str:
        line: str = self.cleaned_data["line"]
        if not line:
            raise ValidationError("Paste or type the powers first.")
        return line
