"""Template filters that write figures the way the trade writes them, and small helps for drawing pages."""

from datetime import date
from decimal import Decimal

from django import forms, template
from django.forms import BoundField
from django.utils import timezone

from dispensing.ages import PROTECTED_BELOW_AGE, age_on
from dispensing.models import Patient

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
def protected(patient: Patient) -> str:
    """Why the law protects this patient, in a word or two; empty when it does not."""
    years = age_on(patient.born_on, timezone.localdate())
    if years < PROTECTED_BELOW_AGE:
        return f"Protected: child of {years}"
    return "Protected: sight-impaired" if patient.sight_impaired else ""
