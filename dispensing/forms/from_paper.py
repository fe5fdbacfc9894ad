"""What was read off a scan, in the entry form: filled in where nothing is typed, beside its field, and looked at.

A field that holds what was read must be ticked as seen before it is saved; one that is typed otherwise asks.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.forms import Form
from django.http import QueryDict

from dispensing.forms.fields import WrittenDateField
from dispensing.models import PaperReading, Patient
from dispensing.models.prescriptions import Source
from dispensing.optics.conventions import EYES
from dispensing.prescribing.eye import EyeFigures
from dispensing.prescribing.paper.differs import Difference, both_written, differences, figures_read
from dispensing.prescribing.paper.whose import doubts
from dispensing.prescribing.remarks import Remark
from dispensing.services.paper_figures import figures_of_fields

SEEN = "seen"
KEY = "paper-differs"
AS_TYPED = "The paper says what is typed; it was read wrongly"
THEIRS = "Yes, this is the patient's own paper"
NAMES = {"intermediate_add": "interm. add"}


@dataclass(frozen=True)
class ReadField:
    """One field beside its control. ``snippet``: whether there is a picture of it. ``seen``: somebody ticked it."""

    paper: PaperReading
    name: str
    text: str
    typed: str
    unsure: str
    snippet: bool
    seen: bool

    @property
    def needs_a_look(self) -> bool:
        """Whether it is filled in and waits to be ticked; what could not be read is typed by a person anyway."""
        return bool(self.typed)


class FromPaper:
    """A paper that was read and is not taken in yet, and what the form's data say about it."""

    def __init__(self, paper: PaperReading, data: Any) -> None:
        self.paper, self.data = paper, data
        getlist = getattr(data, "getlist", None)
        seen = frozenset(getlist(SEEN) if getlist else ())
        self.fields = [
            ReadField(
                paper,
                one["name"],
                one["text"],
                _as_typed(one),
                one["unsure"],
                bool(one["snippet"]),
                one["name"] in seen,
            )
            for one in paper.found
        ]

    def set_beside(self, forms: Iterable[Form]) -> None:
        """Give each control what was read for it; ``forms/_field.html`` shows it there."""
        beside = {field.name: field for field in self.fields}
        for form in forms:
            for name, control in form.fields.items():
                if read := beside.get(form.add_prefix(name)):
                    control.paper = read  # type: ignore[attr-defined]  # read by the template alone

    def filled(self, data: QueryDict) -> QueryDict:
        """The posted data with what was read in the fields that are still empty; what is typed stays."""
        filled = data.copy()
        for field in self.fields:
            if field.typed and not filled.get(field.name, "").strip():
                filled[field.name] = field.typed
        if filled.get("source", Source.OWN_TEST) == Source.OWN_TEST:
            filled["source"] = Source.WRITTEN
        return filled

    @property
    def unseen(self) -> list[ReadField]:
        """Fields that hold what was read and that nobody has looked at."""
        if self.data is None:
            return []
        return [
            field
            for field in self.fields
            if field.needs_a_look and not field.seen and self.data.get(field.name, "").strip()
        ]

    def remarks(self, typed: tuple[EyeFigures, EyeFigures], patient: Patient) -> list[Remark]:
        """A question if it may be somebody else's paper, and for each figure that is typed otherwise than it was read;
        that one asks anew if it changes.
        """
        return self._whose(patient) + [self._remark(found, *pair) for found, *pair in self._differences(typed)]

    def _whose(self, patient: Patient) -> list[Remark]:
        said = {field["name"]: field["value"] for field in self.paper.found}
        born_on = date.fromisoformat(said["born_on"]) if said.get("born_on") else None
        found = doubts(said.get("patient"), born_on, family_name=patient.family_name, patient_born_on=patient.born_on)
        return [Remark("ask", " ".join(found), f"{KEY}-whose-{self.paper.public_id}", THEIRS)] if found else []

    def settled(self, typed: tuple[EyeFigures, EyeFigures]) -> dict[str, str]:
        """By name of the field, what was said of each that differs."""
        return {f"{found.eye}-{found.name}": AS_TYPED for found, _, _ in self._differences(typed)}

    def _differences(self, typed: tuple[EyeFigures, EyeFigures]) -> list[tuple[Difference, EyeFigures, EyeFigures]]:
        """Each with the eye as typed and as read."""
        read = figures_of_fields({**one, "unsure": ""} for one in self.paper.found)
        pairs = [(figures, figures_read(eye, read.get(eye, {}))) for eye, figures in zip(EYES, typed)]
        return [(found, *pair) for pair in pairs if pair[0].sphere is not None for found in differences(*pair)]

    def _remark(self, found: Difference, typed: EyeFigures, read: EyeFigures) -> Remark:
        name = NAMES.get(found.name, found.name)
        ours, theirs = both_written(found, typed, read)
        field = f"{found.eye}-{'prism_horizontal' if found.name == 'prism' else found.name}"
        return Remark(
            "ask",
            f"{found.eye.capitalize()} eye: {name} typed {ours}, on the paper {theirs}.",
            f"{KEY}-{found.eye}-{found.name}-{found.recorded}",
            AS_TYPED,
            field,
        )


def _as_typed(one: dict[str, Any]) -> str:
    if one["name"] in ("tested_on", "expires_on") and one["typed"]:
        return str(WrittenDateField().prepare_value(date.fromisoformat(one["typed"])))
    return str(one["typed"])
