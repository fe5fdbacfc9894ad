"""The sheet of a fitting: typed readings, judged as a colleague would, with what can be computed beside them.

A slip prevents saving; a figure that is only unusual gets a remark and may stay. The form writes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from dispensing.ages import years_between
from dispensing.fitting.by_hand import HandFigure, figure_from_readings
from dispensing.fitting.hand_hints import HandFitting, Hint, hints
from dispensing.fitting.kept import NearPD, worked_out_near_pd
from dispensing.forms.fields import WrittenDateField
from dispensing.forms.figures import ReadingsField, SizeField, readings_as_text
from dispensing.forms.fitting_rows import ROWS, FittingRow
from dispensing.models import Fitting, Frame, Measurement, Patient, StaffUser
from dispensing.models.fittings import Method, Quantity
from dispensing.queries.limits import limits_in_force
from dispensing.queries.staff import measuring_staff
from dispensing.services.fittings import FigureTaken, readings_of
from dispensing.trade import Limits, figure

USUAL_NEAR_DISTANCE_MM = round(figure("near-distance", "usual_mm"))
NEAR_DISTANCES_MM = (figure("near-distance", "least_mm"), figure("near-distance", "most_mm"))


@dataclass(frozen=True)
class Filled:
    """A figure that the frame already tells: as it stands in its field, and the day on which it was measured."""

    text: str
    measured_on: date


@dataclass(frozen=True)
class Sheet:
    """What the form must know besides what is typed. ``powers``: D along 180 for each eye, where prescribed.

    ``face_form``: as last measured in this frame; a new sheet starts with it. ``last_pds``: as last measured of each
    eye of this patient; a new sheet offers them.
    """

    patient: Patient
    frame: Frame
    powers: Mapping[str, float] = field(default_factory=dict)
    fitting: Fitting | None = None
    face_form: Measurement | None = None
    last_pds: Mapping[str, Measurement] = field(default_factory=dict)

    @property
    def filled(self) -> dict[str, Filled]:
        """What is filled in before anybody types, by the name of its field."""
        row = self.face_form
        if row is None or self.fitting is not None:
            return {}
        return {f"{row.quantity}-{row.eye}": Filled(readings_as_text((float(row.value),)), row.fitting.measured_on)}

    @property
    def offered(self) -> dict[str, str]:
        """What one press takes over from the last fitting, by the name of its field."""
        if self.fitting is not None or not self.last_pds:
            return {}
        values = {f"{row.quantity}-{eye}": readings_as_text((float(row.value),)) for eye, row in self.last_pds.items()}
        return {**values, f"{Quantity.PD}-method": Method.COPIED.value}

    @property
    def frame_has_changed(self) -> bool:
        return self.fitting is not None and not self.fitting.measured_in_this_frame


@dataclass(frozen=True)
class _Reading:
    """What was typed for one figure."""

    row: FittingRow
    eye: str
    readings: tuple[float, ...]
    method: str


class FittingForm(forms.Form):
    measured_on = WrittenDateField(label="Measured on")
    taken_by = forms.ModelChoiceField(label="Measured by", queryset=StaffUser.objects.none(), empty_label=None)
    pre_adjusted = forms.BooleanField(label="Frame was adjusted on the face before measuring", required=False)
    near_distance_mm = SizeField(
        words="A near working distance",
        unit="mm",
        possible=NEAR_DISTANCES_MM,
        decimals=0,
        label="Near working distance",
    )
    use_computed_near = forms.BooleanField(label="Use the computed near PD where none was measured", required=False)
    measured_again = forms.BooleanField(
        label="Measured again in the frame as it is now",
        required=False,
        help_text="The frame's sizes were changed after this fitting. Unless you tick this, it stays marked.",
    )
    notes = forms.CharField(label="Notes", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, data: Any = None, *, sheet: Sheet, user: StaffUser):
        super().__init__(data, initial=_initial(sheet, user))
        self.sheet = sheet
        self._read: list[_Reading] = []
        taken_by = self.fields["taken_by"]
        assert isinstance(taken_by, forms.ModelChoiceField)
        taken_by.queryset = measuring_staff()
        self.fields["pre_adjusted"].widget.attrs["autofocus"] = True
        if not sheet.frame_has_changed:
            del self.fields["measured_again"]
        for row in ROWS:
            self._add_row(row)

    def _add_row(self, row: FittingRow) -> None:
        practice_words = {"right": "right", "left": "left", "both": "pair"}
        for eye in row.eyes:
            label = f"{row.label} {practice_words[eye]}" if eye != "both" else row.label
            self.fields[row.field(eye)] = ReadingsField(words=row.label, unit=row.unit, label=label)
        used = self.initial.get(row.method_field)
        methods = [*row.methods, *([Method(used)] if used and used not in row.methods else [])]
        self.fields[row.method_field] = forms.ChoiceField(
            label=f"{row.label}: how", choices=[(method.value, method.label) for method in methods], required=False
        )

    def clean_measured_on(self) -> Any:
        measured_on = self.cleaned_data["measured_on"]
        if measured_on > timezone.localdate():
            raise ValidationError("That date is in the future. Enter the day on which it was measured.")
        return measured_on

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        # Kept separately: a field with a slip drops out of the cleaned data, but the other fields are still judged
        # against it.
        self._read = list(self._readings())
        for hint in self.hints():
            if hint.level == "mistake":
                self.add_error("-".join(hint.place), ValidationError(hint.message, code="slip"))
        if not self.errors and all(self.is_filled(read.row, read.eye) for read in self._read):
            raise ValidationError("No figure was typed. Enter at least one measurement.", code="empty")
        return cleaned

    def _readings(self) -> Iterator[_Reading]:
        for row in ROWS:
            method = self.cleaned_data.get(row.method_field) or row.methods[0].value
            for eye in row.eyes:
                readings = self.cleaned_data.get(row.field(eye))
                if readings:
                    yield _Reading(row, eye, readings, method)

    def is_filled(self, row: FittingRow, eye: str) -> bool:
        """Whether a figure still stands as it was filled in, so that nobody has measured it for this fitting."""
        filled = self.sheet.filled.get(row.field(eye))
        return filled is not None and (self[row.field(eye)].value(), self[row.method_field].value()) == (
            filled.text,
            Method.COPIED.value,
        )

    def hand_figures(self) -> dict[tuple[str, str], HandFigure]:
        """The mean and ± of every figure that can be read so far."""
        return {
            (read.row.quantity.value, read.eye): figure_from_readings(read.readings, read.row.quantity, read.method)
            for read in self._read
        }

    @cached_property
    def _limits(self) -> Limits:
        return limits_in_force()

    def hints(self) -> list[Hint]:
        distance = self.cleaned_data.get("near_distance_mm")
        frame = self.sheet.frame
        return hints(
            HandFitting(
                figures=self.hand_figures(),
                b_mm=None if frame.b_mm is None else float(frame.b_mm),
                age_years=years_between(self.sheet.patient.born_on, timezone.localdate()),
                near_distance_mm=None if distance is None else float(distance),
                limits=self._limits,
            )
        )

    def computed_near(self) -> dict[str, NearPD]:
        """The near PD of each eye whose far PD is known, at the working distance, through the prescribed lens."""
        figures, distance = self.hand_figures(), self.cleaned_data.get("near_distance_mm")
        found = {}
        for eye in ("right", "left"):
            far = figures.get((Quantity.PD.value, eye))
            if far is None or distance is None:
                continue
            vertex = figures.get((Quantity.VERTEX.value, eye))
            power, worn = self.sheet.powers.get(eye, 0.0), vertex.value if vertex else None
            near = worked_out_near_pd(far.value, far.plus_minus, float(distance), worn, power)
            if near is not None:
                found[eye] = near
        return found

    def figures(self) -> list[FigureTaken]:
        """What the service stores: the typed readings, and the computed near PD if requested."""
        taken = [
            FigureTaken(read.row.quantity, read.eye, read.readings, read.method, *self._known(read))
            for read in self._read
        ]
        if not self.cleaned_data.get("use_computed_near"):
            return taken
        typed = {figure.place for figure in taken}
        for eye, near in self.computed_near().items():
            if (Quantity.NEAR_PD.value, eye) not in typed:
                taken.append(FigureTaken(Quantity.NEAR_PD, eye, (near.value,), Method.CALCULATED, near.plus_minus))
        return taken

    def _known(self, read: _Reading) -> tuple[float | None, float | None]:
        """A figure left unchanged keeps its ± and its value, since photos may have given better ones than the table of
        methods and the mean of their readings.
        """
        stored = self.sheet.fitting.figure(read.row.quantity, read.eye) if self.sheet.fitting else None
        if stored is None or stored.plus_minus is None or stored.method != read.method:
            return None, None
        return (float(stored.plus_minus), float(stored.value)) if read.readings == readings_of(stored) else (None, None)


def _initial(sheet: Sheet, user: StaffUser) -> dict[str, Any]:
    fitting = sheet.fitting
    if fitting is None:
        blank = {"measured_on": timezone.localdate(), "taken_by": user, "near_distance_mm": USUAL_NEAR_DISTANCE_MM}
        for name, filled in sheet.filled.items():
            blank |= {name: filled.text, f"{name.rsplit('-', 1)[0]}-method": Method.COPIED.value}
        return blank
    initial: dict[str, Any] = {
        name: getattr(fitting, name) for name in ("measured_on", "pre_adjusted", "near_distance_mm", "notes")
    }
    initial["taken_by"] = user
    for measurement in fitting.measurements.all():
        initial[f"{measurement.quantity}-{measurement.eye}"] = readings_as_text(readings_of(measurement))
        initial[f"{measurement.quantity}-method"] = measurement.method
    return initial
