"""The forms of a finished pair's readings: a block for each lens, what the lab states, the inspection, and the rest.

Readings are taken as they stand on the instrument, in either cylinder form, to any step. What is typed and cannot be
read is named beside its field; everything else still counts, and nothing is lost.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict

from dispensing.forms.fields import FigureField, TidyCharField
from dispensing.forms.photo_fittings import PICTURES
from dispensing.forms.power_fields import PrismField, WrittenField
from dispensing.models.choices import HorizontalBase, VerticalBase
from dispensing.optics.errors import OpticsError
from dispensing.optics.notation import NotationError, parse_add, parse_axis, parse_power
from dispensing.optics.notation_parser import LineReader
from dispensing.optics.prism import Prism, resultant
from dispensing.trade import figure
from orders.documents.finished_pair import (
    CompensatedPower,
    CompensatedPowers,
    EyeReadings,
    FinishedReadings,
)
from orders.documents.lens_order import EYES, Eye
from orders.verification.inspection import POINTS, WORDS_MOST, Point

Data = QueryDict | Mapping[str, Any] | None
Files = MultiValueDict[str, Any] | None
SIGNS = {"in": 1.0, "up": 1.0, "out": -1.0, "down": -1.0}


class ReadPowerField(WrittenField):
    """A power in D as the lensmeter shows it, to any step; its sign is needed."""

    def read(self, text: str) -> float:
        return parse_power(text, str(self.label).lower())


class ReadAddField(WrittenField):
    """An add in D. A minus is taken as it stands: whoever reads the near power in its place is told so."""

    def read(self, text: str) -> float:
        try:
            return parse_add(text)
        except NotationError:
            return parse_power(text, "add")


class ReadAxisField(WrittenField):
    """Whole degrees, 1 to 180; 0 is the same as 180."""

    def read(self, text: str) -> int:
        return parse_axis(text)

    def message(self, fault: NotationError, text: str) -> str:
        return f"An axis of {text} is not possible: write a whole number from 1 to 180."


class ReadPrismField(PrismField):
    """An amount of prism in Δ with its base in the field beside it; nought is a reading too."""

    def read(self, text: str) -> Decimal:
        return super().read(text) or Decimal(0)


class StatedField(WrittenField):
    """One lens's power on one line, as the lab states it: ``-3.30 -1.10 x 172 add 2.05 0.50 up``."""

    def __init__(self, *, label: str):
        super().__init__(label=label)
        self.max_length = 80
        self.widget.attrs["maxlength"] = "80"
        self.validators = []

    def read(self, text: str) -> CompensatedPower:
        line = LineReader(text).line()
        try:
            prism = resultant(Prism.from_base(part.amount, part.base) for part in line.prisms)
        except OpticsError as fault:
            raise ValidationError(str(fault)) from fault
        axis = None if line.axis is None else float(line.axis)
        given: dict[str, Any] = {"prism_in": prism.in_pd, "prism_up": prism.up_pd} if line.prisms else {}
        return CompensatedPower(
            sphere=line.sphere, cylinder=line.cylinder or None, axis=axis, add=line.add or None, **given
        )

    def message(self, fault: NotationError, text: str) -> str:
        return f"{text} cannot be read. Write it on one line, as in -3.30 -1.10 x 172 add 2.05."


def _base(label: str, choices: list[tuple[str, str]]) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=[("", "–"), *choices], required=False)


def _length(label: str, most: str, unit: str = "mm") -> FigureField:
    return FigureField(
        label=label,
        unit=unit,
        low=0.0,
        high=figure("typed-finished", most),
        required=False,
        max_digits=5,
        decimal_places=2,
    )


class ReadEyeForm(forms.Form):
    """One lens as read."""

    sphere = ReadPowerField(label="Sphere", unit="D")
    cylinder = ReadPowerField(label="Cylinder", unit="D")
    axis = ReadAxisField(label="Axis", unit="°", inputmode="numeric")
    add = ReadAddField(label="Add", unit="D")
    prism_horizontal = ReadPrismField(label="Horizontal prism", unit="Δ")
    prism_horizontal_base = _base("Base of the horizontal prism", HorizontalBase.choices)
    prism_vertical = ReadPrismField(label="Vertical prism", unit="Δ")
    prism_vertical_base = _base("Base of the vertical prism", VerticalBase.choices)
    pd_mm = _length("PD", "pd_most_mm")
    height_mm = _length("Height", "height_most_mm")
    centre_thickness_mm = _length("Centre thickness", "thickness_most_mm")
    base_curve_d = _length("Base curve", "curve_most_d", "D")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for name, words in (("prism_horizontal", "in or out"), ("prism_vertical", "up or down")):
            base = f"{name}_base"
            if cleaned.get(name) and not cleaned.get(base) and base not in self.errors:
                self.add_error(base, f"A prism needs its base: {words}.")
            elif cleaned.get(base) and name in cleaned and cleaned[name] is None:
                self.add_error(name, "A base is chosen but no prism. Write the amount, or clear the base.")
        return cleaned

    @property
    def is_empty(self) -> bool:
        return not any(str(value or "").strip() for name in self.fields if (value := self[name].value()) is not None)

    def readings(self) -> EyeReadings:
        """What could be read of what is typed."""
        cleaned = getattr(self, "cleaned_data", {})
        plain = ("sphere", "cylinder", "axis", "add", "pd_mm", "height_mm", "centre_thickness_mm", "base_curve_d")
        values: dict[str, Any] = {name: _number(cleaned.get(name)) for name in plain}
        return EyeReadings(**values, prism_in=self._prism("prism_horizontal"), prism_up=self._prism("prism_vertical"))

    def _prism(self, name: str) -> float | None:
        """Signed, base in and base up positive; None without a base, unless there is no prism."""
        cleaned = getattr(self, "cleaned_data", {})
        amount, base = _number(cleaned.get(name)), cleaned.get(f"{name}_base")
        if amount is None or (amount and not base):
            return None
        return amount * SIGNS[base] if base else 0.0


class RestForm(forms.Form):
    """What belongs to neither lens."""

    instrument = TidyCharField(label="Read with", max_length=80, required=False, help_text="The lensmeter used.")
    note = TidyCharField(label="Note", max_length=500, required=False)
    right_stated = StatedField(label="Right, as the lab states it")
    left_stated = StatedField(label="Left, as the lab states it")

    def stated(self) -> CompensatedPowers | None:
        cleaned = getattr(self, "cleaned_data", {})
        right, left = cleaned.get("right_stated"), cleaned.get("left_stated")
        return CompensatedPowers(right=right, left=left) if right or left else None


class PointForm(forms.Form):
    """One point of the inspection."""

    found = forms.ChoiceField(
        choices=[("", "Not looked at"), ("fine", "Fine"), ("defect", "Defect")], required=False, label="Found"
    )
    words = TidyCharField(label="What is wrong", max_length=WORDS_MOST, required=False)
    photo = forms.FileField(label="Photo", required=False, widget=forms.FileInput(attrs={"accept": PICTURES}))

    def __init__(self, data: Any = None, files: Any = None, *, point: Point):
        super().__init__(data, files, prefix=f"point-{point.key}")
        self.point = point
        self.fields["found"].label = point.title
        self.fields["found"].help_text = point.asks

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        said = cleaned.get("words") or cleaned.get("photo")
        if said and cleaned.get("found") != "defect":
            self.add_error("found", "Words or a photo are given: choose Defect, or clear them.")
        elif cleaned.get("found") == "defect" and not cleaned.get("words") and "words" not in self.errors:
            self.add_error("words", "Write what is wrong, so that whoever decides knows.")
        return cleaned


@dataclass
class FinishedEntry:
    """All forms of one reading. data, files: as posted; None for an empty page."""

    data: Data = None
    files: Files = None
    instrument: str = ""

    def __post_init__(self) -> None:
        self.right = ReadEyeForm(self.data, prefix="right")
        self.left = ReadEyeForm(self.data, prefix="left")
        self.rest = RestForm(self.data, initial={"instrument": self.instrument})
        self.points = [PointForm(self.data, self.files, point=point) for point in POINTS]
        if self.data is not None:
            for form in self.forms:
                form.full_clean()

    @property
    def forms(self) -> tuple[forms.Form, ...]:
        return self.right, self.left, self.rest, *self.points

    def eye(self, eye: Eye) -> ReadEyeForm:
        return self.right if eye == "right" else self.left

    def is_valid(self) -> bool:
        if self.data is None:
            return False
        if self.right.is_empty and self.left.is_empty:
            self.right.add_error("sphere", "Write what the lensmeter reads of at least one lens.")
        return not self.has_faults

    @property
    def has_faults(self) -> bool:
        return any(form.errors for form in self.forms)

    def readings(self) -> FinishedReadings:
        """What could be read of what is typed; a lens of which nothing is typed is not read."""
        read = {eye: self.eye(eye).readings() for eye in EYES if not self.eye(eye).is_empty}
        instrument = getattr(self.rest, "cleaned_data", {}).get("instrument") or None
        return FinishedReadings(
            format="finished-readings/1",
            right=read.get("right"),
            left=read.get("left"),
            compensated=self.rest.stated(),
            instrument=instrument,
        )

    def inspection(self) -> dict[str, dict[str, str]]:
        """What was looked at; empty before anything was posted."""
        rows = ((form.point.key, getattr(form, "cleaned_data", {})) for form in self.points)
        return {key: {"found": row["found"], "words": row.get("words", "")} for key, row in rows if row.get("found")}

    def photos(self) -> Iterator[tuple[str, bytes]]:
        for form in self.points:
            photo = form.cleaned_data.get("photo")
            if photo:
                yield form.point.key, photo.read()


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


class PastedForm(forms.Form):
    """The text of a lensmeter."""

    pasted = forms.CharField(
        label="Text of the lensmeter", required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 2})
    )


class TicketForm(forms.Form):
    """The code on a work ticket: the order's number, as a scanner types it or the camera reads it."""

    number = TidyCharField(
        label="Order number on the ticket",
        max_length=250,
        error_messages={"required": "Scan the ticket's code, or type the order number."},
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false", "autofocus": True}),
    )
