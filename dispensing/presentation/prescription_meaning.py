"""What appears beside a prescription, typed or stored: both forms, the optical cross, changes, remarks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from dispensing.forms.prescription_entry import PrescriptionEntry, figures_of
from dispensing.forms.prescriptions import EyeForm
from dispensing.models import Practice, Prescription
from dispensing.prescribing.comparison import EyeChange, compare
from dispensing.prescribing.eye import EyeFigures, Form
from dispensing.prescribing.optical_cross import Meridian, arms
from dispensing.presentation.prescriptions import shown_acuities


@dataclass(frozen=True)
class Shown:
    """One eye as shown: in minus and in plus cylinder, its optical cross, and what cannot be read yet.

    ``acuity``: in the practice's own notation. ``balance``: a balance lens is prescribed.
    """

    eye: str
    minus: str
    plus: str
    arms: tuple[Meridian, ...]
    change: EyeChange | None
    acuity: str
    balance: bool
    faults: tuple[str, ...] = ()

    @classmethod
    def of(
        cls, figures: EyeFigures, before: EyeFigures | None, form: Form, acuity: str, faults: tuple[str, ...] = ()
    ) -> Shown:
        power = figures.power
        change = compare(before, figures, form) if before is not None and power is not None else None
        crossed = arms(power) if power else ()
        minus, plus = figures.line("minus"), figures.line("plus")
        return cls(figures.eye, minus, plus, crossed, change, acuity, figures.balance, faults)


def live_context(entry: PrescriptionEntry) -> dict[str, Any]:
    """The context for ``prescriptions/_live.html`` and the page around it."""
    right, left = entry.figures
    practice = Practice.current()
    form = _form_of(practice)
    before = entry.before_figures or (None, None)
    acuities = shown_acuities(right, left, practice.country)
    return {
        "entry": entry,
        "patient": entry.patient,
        "shown": [
            Shown.of(right, before[0], form, acuities[0], _faults(entry.right)),
            Shown.of(left, before[1], form, acuities[1], _faults(entry.left)),
        ],
        "before": entry.before,
        "remarks": entry.remarks,
        "confirmed": entry.confirmed,
        "turn": "left" if entry.mixed_cylinders else "",
    }


def _form_of(practice: Practice) -> Form:
    return "plus" if practice.cylinder_form == "plus" else "minus"


def _faults(form: EyeForm) -> tuple[str, ...]:
    return tuple(str(fault) for faults in form.errors.values() for fault in faults)


def stored_context(prescription: Prescription, before: Prescription | None) -> dict[str, Any]:
    """The same for a stored prescription."""
    practice = Practice.current()
    form = _form_of(practice)
    earlier = figures_of(before) if before else (None, None)
    right, left = figures_of(prescription)
    acuities = shown_acuities(right, left, practice.country)
    return {
        "prescription": prescription,
        "patient": prescription.patient,
        "before": before,
        "shown": [
            Shown.of(right, earlier[0], form, acuities[0]),
            Shown.of(left, earlier[1], form, acuities[1]),
        ],
    }
