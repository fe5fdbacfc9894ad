"""A stored prescription as table rows or as a line, in the practice's cylinder form and with its eye headings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils import timezone

from dispensing.forms.prescription_entry import figures_of
from dispensing.models import Practice, PrescribedEye, Prescription, WornPair
from dispensing.optics.notation import format_axis
from dispensing.prescribing.comparison import prism_words
from dispensing.prescribing.eye import EyeFigures, Form
from dispensing.prescribing.one_notation import in_one_notation
from dispensing.presentation.figures import power_text


@dataclass(frozen=True)
class Row:
    """One eye, every cell as text; a cell is empty if nothing is prescribed."""

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


def rows_of(prescription: Prescription | WornPair, practice: Practice) -> Rows:
    """``{% with lines=prescription|rows:practice %}``: both eyes written the practice's own way."""
    form: Form = "plus" if practice.cylinder_form == "plus" else "minus"
    right, left = figures_of(prescription)
    acuities = shown_acuities(right, left, practice.country)
    return Rows(
        _row(prescription, right.in_form(form), practice.right_heading, acuities[0]),
        _row(prescription, left.in_form(form), practice.left_heading, acuities[1]),
    )


def shown_acuities(right: EyeFigures, left: EyeFigures, country: str) -> tuple[str, str]:
    """Both eyes' acuities in the country's notation, with what is written beside them where that is another."""
    return (
        in_one_notation(right.acuity, left.acuity, country),
        in_one_notation(left.acuity, right.acuity, country),
    )


def _row(prescription: Prescription | WornPair, figures: EyeFigures, heading: str, acuity: str) -> Row:
    stored = prescription.eye(figures.eye)
    prism = prism_words(figures)
    return Row(
        heading,
        figures.eye,
        stored is not None,
        f"{'Balance' if figures.balance else ''} {power_text(figures.sphere, plano='Plano')}".strip(),
        power_text(figures.cylinder),
        "" if figures.axis is None else format_axis(figures.axis),
        power_text(figures.add),
        power_text(figures.intermediate_add),
        "" if prism == "none" else prism,
        acuity,
    )


def prescription_line(figures: EyeFigures | PrescribedEye | None, practice: Practice) -> str:
    """One eye as one line in the practice's cylinder form: ``−3.25 / −1.00 x 170``."""
    if figures is None:
        return "–"
    if isinstance(figures, PrescribedEye):
        figures = EyeFigures.of("right" if figures.eye == "right" else "left", vars(figures))
    power = figures.line("plus" if practice.cylinder_form == "plus" else "minus")
    return " ".join(filter(None, ("balance" if figures.balance else "", power))) or "–"


def expired(prescription: Prescription) -> bool:
    """Whether the date printed on it has passed. The order's rules judge what local law says beyond that."""
    return prescription.expires_on is not None and prescription.expires_on < timezone.localdate()
