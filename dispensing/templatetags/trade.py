"""What every template may use: the functions of ``presentation/`` by name, and small helpers for drawing pages."""

from django import forms, template
from django.forms import BoundField

from dispensing.presentation import audit, figures, patients, photo_fittings, prescriptions
from dispensing.queries.prescriptions import known_prescribers

register = template.Library()

register.filter("axis", figures.axis)
register.filter("figure", figures.figure)
register.filter("measure", figures.measure)
register.filter("power", figures.power)
register.filter("sentence", figures.sentence)
register.filter("signed", figures.signed)
register.filter("age", patients.age)
register.filter("kept_until", patients.kept_until)
register.filter("protected", patients.protected)
register.filter("rows", prescriptions.rows_of)
register.filter("prescription_line", prescriptions.prescription_line)
register.filter("expired", prescriptions.expired)
register.filter("is_a_mark", photo_fittings.is_a_mark)
register.filter("verb_words", audit.verb_in_words)
register.filter("changes_told", audit.changes_told)
register.simple_tag(figures.fact)
register.simple_tag(known_prescribers)

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
    """Whether a page belongs under a menu entry, so that the entry is highlighted."""
    return bool(url) and path.startswith(url)


@register.filter
def unit(field: BoundField) -> str:
    """The unit a control carries: ``attrs={"data-unit": "mm"}`` on its widget."""
    return str(field.field.widget.attrs.get("data-unit", ""))


@register.filter
def control_kind(field: BoundField) -> str:
    return "tick" if isinstance(field.field.widget, forms.CheckboxInput) else "plain"
