"""Template filters that write figures the way the trade writes them, and small helps for drawing pages."""

from datetime import date
from decimal import Decimal

from django import forms, template
from django.forms import BoundField
from django.utils import timezone

from dispensing import ages
from dispensing.ages import PROTECTED_BELOW_AGE, age_on
from dispensing.models import Patient, Practice, PrescribedEye, Prescription
from dispensing.optics.notation import format_axis
from dispensing.prescribing.eye import EyeFigures
from dispensing.presentation.prescriptions import Rows, power_text, rows_of

register = template.Library()

LEVEL_OF_TAG = {"error": "stop", "warning": "ask", "info": "note", "success": "clear", "debug": "note"}
LEVEL_WORDS = {"stop": "Stop", "ask": "Ask", "note": "Note", "clear": "Clear"}


@register.filter
def level(message_tag: str) -> str:
    """Django's message level as one of the product's own: stop, ask, note, clear."""
    return LEVEL_OF_TAG.get(message_tag, "note")


@register.filter
def level_word(name: str) -> str:
    return LEVEL_WORDS.get(name, name)


@register.filter
def within(path: str, url: str) -> bool:
    """Whether a page lies under a menu entry, so that the entry is marked."""
    return bool(url) and path.startswith(url)


@register.filter
def unit(field: BoundField) -> str:
    """The unit a control carries: ``attrs={"data-unit": "mm"}`` on its widget."""
    return str(field.field.widget.attrs.get("data-unit", ""))


@register.filter
def control_kind(field: BoundField) -> str:
    return "tick" if isinstance(field.field.widget, forms.CheckboxInput) else "plain"


@register.filter
def measure(value: Decimal | float | None, suffix: str = "mm") -> str:
    """A length without needless zeros: ``52.5 mm``; a dash where it is not known."""
    if value is None or value == "":
        return "–"
    return f"{Decimal(str(value)).normalize():f} {suffix}".rstrip()


@register.filter
def age(born_on: date) -> int:
    """Whole years today."""
    return age_on(born_on, timezone.localdate())


@register.filter
def kept_until(patient: Patient, practice: Practice) -> date | None:
    """The day until which the practice keeps this record; None for who was never seen."""
    if patient.last_seen_on is None:
        return None
    return ages.kept_until(
        patient.born_on,
        patient.last_seen_on,
        adult_years=practice.keep_adult_years,
        child_until_age=practice.keep_child_until_age,
    )


@register.filter
def protected(patient: Patient) -> str:
    """Why the law protects this patient, in a word or two; empty when it does not."""
    years = age_on(patient.born_on, timezone.localdate())
    if years < PROTECTED_BELOW_AGE:
        return f"Protected: child of {years}"
    return "Protected: sight-impaired" if patient.sight_impaired else ""


@register.filter
def power(value: Decimal | float | None) -> str:
    """A power as the trade writes it: ``−3.25``, ``+0.12``; a dash where there is none."""
    return power_text(value) or "–"


@register.filter
def axis(value: int | float | str | None) -> str:
    """Whole degrees, 180 for 0, no degree sign; a dash where there is none."""
    return "–" if value is None or value == "" else format_axis(float(value))


@register.filter
def rows(prescription: Prescription, practice: Practice) -> Rows:
    """``{% with lines=prescription|rows:practice %}``: both eyes in the practice's own way of writing."""
    return rows_of(prescription, practice)


@register.filter
def prescription_line(figures: EyeFigures | PrescribedEye | None, practice: Practice) -> str:
    """One eye as one line in the practice's cylinder form: ``−3.25 / −1.00 x 170``."""
    if figures is None:
        return "–"
    if isinstance(figures, PrescribedEye):
        figures = EyeFigures.of("right" if figures.eye == "right" else "left", vars(figures))
    return figures.line("plus" if practice.cylinder_form == "plus" else "minus") or "–"


@register.filter
def expired(prescription: Prescription) -> bool:
    """Past the date printed on it. What the law of the place says beyond that, the order's rules judge."""
    return prescription.expires_on is not None and prescription.expires_on < timezone.localdate()
