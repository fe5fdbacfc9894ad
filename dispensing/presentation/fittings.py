"""What a fitting's page shows beside each field: the figure so far and the remarks on it; and the drawing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.forms import BoundField
from django.utils.formats import date_format
from django.utils.safestring import SafeString

from dispensing.ages import years_between
from dispensing.fitting.by_hand import HandFigure, as_ordered, figure_from_readings
from dispensing.fitting.hand_hints import HandFitting, Hint, hints
from dispensing.forms.fitting_rows import ROWS, FittingRow
from dispensing.forms.fittings import FittingForm
from dispensing.models import Fitting, Frame, Practice
from dispensing.models.fittings import Quantity
from dispensing.optics.conventions import EYES, Eye
from dispensing.pictures.frame_front import Placed
from dispensing.presentation.frames import picture_of
from dispensing.queries.limits import limits_in_force
from dispensing.services.fittings import readings_of


@dataclass(frozen=True)
class Cell:
    """One field of the sheet with the remarks on it."""

    field: BoundField
    heading: str
    said: str
    hints: tuple[Hint, ...]

    @property
    def said_id(self) -> str:
        return f"said-{self.field.name}"

    @property
    def has_words(self) -> bool:
        return bool(self.hints or self.field.errors)

    @property
    def level(self) -> str:
        """How the field is marked: ``stop`` for a slip, ``ask`` for an unusual figure, else empty."""
        if self.field.errors:
            return "stop"
        return "ask" if any(hint.level == "ask" for hint in self.hints) else ""

    @property
    def told_id(self) -> str:
        return f"told-{self.field.name}"


@dataclass(frozen=True)
class Line:
    row: FittingRow
    cells: tuple[Cell, ...]
    method: BoundField


def lines_of(form: FittingForm, practice: Practice) -> Iterator[Line]:
    """The sheet line by line. Slips are shown as the field's errors, with the other hints beside them."""
    headings = {"right": practice.right_heading, "left": practice.left_heading, "both": "Pair"}
    figures = form.hand_figures() if form.is_bound else {}
    told = form.hints() if form.is_bound else []
    computed = form.computed_near() if form.is_bound else {}
    for row in ROWS:
        cells = []
        for eye in row.eyes:
            place = (row.quantity.value, eye)
            said = figure_said(figures.get(place), row.unit, practice.rounding_mm)
            if row.quantity == Quantity.NEAR_PD and eye in computed:
                said = " · ".join(filter(None, [said, f"computed {computed[eye].value:.1f} mm"]))
            said = " · ".join(filter(None, [said, _filled_words(form, row, eye), _last_words(form, row, eye)]))
            said_of_it = tuple(hint for hint in told if hint.place == place and hint.level != "mistake")
            cells.append(Cell(form[row.field(eye)], headings[eye], said, said_of_it))
        yield Line(row, tuple(cells), form[row.method_field])


def _filled_words(form: FittingForm, row: FittingRow, eye: str) -> str:
    """``as measured in this frame on 9 Nov 2026``: while the figure stands as it was filled in."""
    if not form.is_filled(row, eye):
        return ""
    return f"as measured in this frame on {date_format(form.sheet.filled[row.field(eye)].measured_on, 'j M Y')}"


def _last_words(form: FittingForm, row: FittingRow, eye: str) -> str:
    """``last 31.5 on 9 Nov 2026``, beside a PD of a new sheet, to take over or to compare with."""
    last = form.sheet.last_pds.get(eye) if row.quantity == Quantity.PD else None
    if last is None or form.sheet.fitting is not None:
        return ""
    return f"last {last.value:.1f} on {date_format(last.fitting.measured_on, 'j M Y')}"


def hints_on_record(fitting: Fitting) -> dict[tuple[str, str], tuple[Hint, ...]]:
    """What is unusual in a fitting on record, as the sheet would say it while it is typed, by quantity and eye."""
    frame, distance = fitting.frame, fitting.near_distance_mm
    found = hints(
        HandFitting(
            figures={
                (row.quantity, row.eye): figure_from_readings(readings_of(row), row.quantity, row.method)
                for row in fitting.measurements.all()
            },
            b_mm=None if frame.b_mm is None else float(frame.b_mm),
            age_years=years_between(fitting.patient.born_on, fitting.measured_on),
            near_distance_mm=None if distance is None else float(distance),
            limits=limits_in_force(),
        )
    )
    places = {hint.place for hint in found if hint.level != "note"}
    return {place: tuple(hint for hint in found if hint.place == place and hint.level != "note") for place in places}


def figure_said(figure: HandFigure | None, unit: str, step: Decimal) -> str:
    """``31.5 mm ± 0.6, mean of 3 (31.67), spread 0.5``: rounded to the practice's step, the raw mean beside it."""
    if figure is None:
        return ""
    shown = rounded(figure.value, unit, step)
    said = f"{shown:g}{'' if unit == '°' else ' '}{unit}"
    said += "" if figure.plus_minus is None else f" ± {figure.plus_minus:.1f}"
    if figure.count > 1:
        said += f", mean of {figure.count} ({figure.value:.2f}), spread {figure.spread:g}"
    return said


def rounded(value: float, unit: str, step: Decimal) -> float:
    return as_ordered(value, unit, float(step))


def picture_of_sheet(form: FittingForm, practice: Practice) -> SafeString | str:
    """The drawing of the frame with the eyes where the figures typed so far put them."""
    values = {place: figure.value for place, figure in form.hand_figures().items()} if form.is_bound else {}
    return _picture(form.sheet.frame, values, practice)


def picture_of_fitting(fitting: Fitting, practice: Practice) -> SafeString | str:
    values = {(row.quantity, row.eye): float(row.value) for row in fitting.measurements.all()}
    return _picture(fitting.frame, values, practice)


def _picture(frame: Frame, values: Mapping[tuple[str, str], float], practice: Practice) -> SafeString | str:
    step = practice.rounding_mm

    def shown(quantity: str, eye: str) -> float | None:
        value = values.get((quantity, eye))
        return None if value is None else rounded(value, "mm", step)

    placed: dict[Eye, Placed] = {
        eye: Placed(pd_mm=shown(Quantity.PD, eye), height_mm=shown(Quantity.HEIGHT, eye)) for eye in EYES
    }
    return picture_of(frame, practice, placed=placed)
