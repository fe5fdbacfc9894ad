"""A stored prescription as the rows of a table, in the practice's cylinder form and with its eye headings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from dispensing.forms.prescription_entry import figures_of
from dispensing.models import Practice, Prescription
from dispensing.optics.notation import format_axis, format_power
from dispensing.prescribing.comparison import prism_words
from dispensing.prescribing.eye import MINUS, EyeFigures, Form


@dataclass(frozen=True)
class Row:
    """One eye, every cell as text; empty where nothing is prescribed."""

    heading: str
    eye: str
    prescribed: bool
    sphere: str
    cylinder: str
    axis: str
    add: str
    intermediate_add: str
    prism: str
    acuity: str


@dataclass(frozen=True)
class Rows:
    """Both eyes, and which of the rarer columns have anything in them."""

    right: Row
    left: Row

    def __iter__(self) -> Iterator[Row]:
        return iter((self.right, self.left))

    @property
    def any_add(self) -> bool:
        return any(row.add for row in self)

    @property
    def any_intermediate(self) -> bool:
        return any(row.intermediate_add for row in self)

    @property
    def any_prism(self) -> bool:
        return any(row.prism for row in self)

    @property
    def any_acuity(self) -> bool:
        return any(row.acuity for row in self)


def rows_of(prescription: Prescription, practice: Practice) -> Rows:
    form: Form = "plus" if practice.cylinder_form == "plus" else "minus"
    right, left = figures_of(prescription)
    return Rows(
        _row(prescription, right.in_form(form), practice.right_heading),
        _row(prescription, left.in_form(form), practice.left_heading),
    )


def _row(prescription: Prescription, figures: EyeFigures, heading: str) -> Row:
    stored = prescription.eye(figures.eye)
    prism = prism_words(figures)
    return Row(
        heading,
        figures.eye,
        stored is not None,
        power_text(figures.sphere, plano="Plano"),
        power_text(figures.cylinder),
        "" if figures.axis is None else format_axis(figures.axis),
        power_text(figures.add),
        power_text(figures.intermediate_add),
        "" if prism == "none" else prism,
        stored.acuity if stored else "",
    )


def power_text(value: object, plano: str | None = None) -> str:
    """A power with its sign and two decimals, a true minus; empty where there is none."""
    if value is None or value == "":
        return ""
    return format_power(float(str(value)), plano=plano, minus=MINUS)
