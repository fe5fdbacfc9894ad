"""Lines for the right and the left eye being typed with their facts: what a prescription and the pair worn now share.

It must never know what the lines are of.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Generic, Protocol, TypeVar

from django.forms import Form
from django.http import QueryDict

from dispensing.forms.prescriptions import EyeForm
from dispensing.models import Patient
from dispensing.optics.conventions import EYES, Eye
from dispensing.optics.notation import format_amount, format_power

Data = QueryDict | Mapping[str, str] | None


class WithEyes(Protocol):
    """A stored record with a line for each eye, or none."""

    def eye(self, eye: Any) -> Any: ...


Facts = TypeVar("Facts", bound=Form)
Line = TypeVar("Line", bound=EyeForm)
Stored = TypeVar("Stored", bound=WithEyes)


class TwoEyesEntry(Generic[Facts, Line, Stored]):
    """``facts``, ``right`` and ``left``: the forms. ``corrected``: the record being corrected, if any."""

    facts_form: type[Facts]
    eye_form: type[Line]
    nothing_written = "Write at least one eye."

    def __init__(self, patient: Patient, data: Data = None, corrected: Stored | None = None):
        self.patient, self.data, self.corrected = patient, data, corrected
        facts = self.stored_facts(corrected) if corrected is not None else None
        self.facts = self.facts_form(data, patient=patient, initial=facts)  # type: ignore[call-arg]  # facts of a patient
        self.right, self.left = self._line("right"), self._line("left")

    def _line(self, eye: Eye) -> Line:
        row = self.corrected.eye(eye) if self.corrected is not None else None
        names = self.eye_form.base_fields
        stored = {name: as_typed(name, getattr(row, name)) for name in names} if row is not None else None
        return self.eye_form(self.data, prefix=eye, initial=stored)

    def stored_facts(self, corrected: Stored) -> dict[str, Any]:
        """The facts of the record being corrected, as someone would type them."""
        return {name: getattr(corrected, name) for name in self.facts_form.base_fields}

    @property
    def forms(self) -> tuple[Facts, Line, Line]:
        return self.facts, self.right, self.left

    @property
    def eyes(self) -> tuple[tuple[Eye, Line], ...]:
        return (EYES[0], self.right), (EYES[1], self.left)

    def is_valid(self) -> bool:
        """Whether every field is valid and at least one eye is written."""
        if self.data is None:
            return False
        for form in self.forms:
            form.full_clean()
        self.check_both_eyes()
        return not any(form.errors for form in self.forms)

    def check_both_eyes(self) -> None:
        """Add what is wrong with both eyes together to their forms."""
        if self.right.is_empty and self.left.is_empty and not (self.right.errors or self.left.errors):
            self.right.add_error("sphere", self.nothing_written)

    def values(self) -> dict[str, Any]:
        """The arguments for the services: the facts, and the fields of each eye that has any."""
        eyes = {eye: dict(form.cleaned_data) for eye, form in self.eyes if not form.is_empty}
        return {"facts": dict(self.facts.cleaned_data), "eyes": eyes}


def as_typed(name: str, value: Any) -> Any:
    """A stored figure as someone would type it, with its sign."""
    if value is None or name not in EyeForm.base_fields or name in {"axis", "acuity"} or name.endswith("_base"):
        return value
    if name in {"sphere", "cylinder"}:
        return format_power(float(value))
    return format_amount(float(value))
