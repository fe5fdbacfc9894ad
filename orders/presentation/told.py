"""What follows from a usual choice, told as text with the way to change it, so that the desk shows few fields."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.forms import BoundField, CheckboxInput, ChoiceField
from django.utils.choices import flatten_choices

from orders.forms.desk import DeskForms
from orders.forms.lenses import LensForm


@dataclass(frozen=True)
class Told:
    """A few fields that belong together. words: what is chosen in them. is_open: the fields show at once, because
    something is still to be chosen in them or what was typed is refused. none: the words while nothing is chosen.
    """

    label: str
    fields: tuple[BoundField, ...]
    words: str
    is_open: bool
    none: str


def told(label: str, fields: Sequence[BoundField], *, none: str = "–", needed: bool = False) -> Told:
    """The fields under one label; ``needed``: they show while the first has no value."""
    shown = [fields[0], *(field for field in fields[1:] if field.value())]
    said = ", ".join(text for field in shown if (text := chosen_words(field)))
    refused = any(field.form.is_bound and field.errors for field in fields)
    lacking = needed and not fields[0].value()
    return Told(label, tuple(fields), said or none, lacking or refused, none)


def chosen_words(field: BoundField) -> str:
    """What the field now says, in the words of its own choices."""
    value = field.value()
    if isinstance(field.field.widget, CheckboxInput):
        return str(field.label) if value else ""
    if isinstance(field.field, ChoiceField):
        values = value if isinstance(value, list) else [value]
        chosen = {"" if one is None else str(one) for one in values}
        choices: Any = field.field.choices
        offered: list[tuple[Any, Any]] = [*flatten_choices(choices)]
        return ", ".join(str(label) for key, label in offered if str(key) in chosen)
    return str(value or "")


def told_of_the_job(forms: DeskForms) -> dict[str, Told]:
    """By the name of the first field of each."""
    job = forms.job
    found = (
        told("Prescription", [job["prescription"]], needed=True),
        told("This pair is for", [job["use"]]),
        told("Lab", [job["lab"]], needed=True),
        told("Lenses to make", [job["eyes"], job["same"]]),
        told("The lab is to supply", [job["supply"], job["priority"]]),
        told("The frame", [job["frame_source"]], needed=True),
        told("Purpose", [job[name] for name in ("purpose", "remake_of", "remake_cause", "remake_whose")]),
        told("Another usable pair", [job["other_pair"]]),
        told("Remarks to the lab", [job["remarks"]], none="none"),
    )
    return {one.fields[0].name: one for one in found}


def told_of_a_lens(form: LensForm) -> dict[str, Told]:
    """What a lens of a standard order leaves as it is: blank and treatments."""
    found = (told("Blank", [form["blank_mm"]]), told("Treatments", [form["treatments"]], none="none"))
    return {one.fields[0].name: one for one in found}
