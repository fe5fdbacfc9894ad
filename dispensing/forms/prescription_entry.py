"""A prescription being typed: its forms together, what concerns both eyes, and what still needs a tick."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.forms import Form
from django.utils import timezone

from dispensing.ages import age_on
from dispensing.forms.from_paper import FromPaper
from dispensing.forms.prescriptions import EyeForm, PrescribedEyeForm, PrescriptionFacts
from dispensing.forms.two_eyes import Data, TwoEyesEntry
from dispensing.forms.typed import yes_or_no
from dispensing.models import PaperReading, Patient, Practice, Prescription, WornPair
from dispensing.models.choices import Use
from dispensing.optics.conventions import EYES, Eye
from dispensing.prescribing.eye import EyeFigures
from dispensing.prescribing.paper.differs import differences
from dispensing.prescribing.remarks import Remark, Typed, remarks
from dispensing.prescribing.uses import comparable_uses
from dispensing.queries.limits import limits_in_force
from dispensing.queries.prescriptions import prescription_before, prescriptions_of_a_day
from dispensing.queries.worn_pairs import worn_now


class PrescriptionEntry(TwoEyesEntry[PrescriptionFacts, PrescribedEyeForm, Prescription]):
    """``scan_fault``: what is wrong with the scan sent along; set here by whoever reads that file.

    ``paper``: a scan that was read and is not taken in yet; what it says stands beside the fields.
    """

    facts_form, eye_form = PrescriptionFacts, PrescribedEyeForm
    scan_fault = ""

    def __init__(
        self,
        patient: Patient,
        data: Data = None,
        corrected: Prescription | None = None,
        paper: PaperReading | None = None,
    ):
        super().__init__(patient, data, corrected)
        self.paper = FromPaper(paper, data) if paper is not None else None
        if self.paper is not None:
            self.paper.set_beside(self.forms)

    def stored_facts(self, corrected: Prescription) -> dict[str, Any]:
        return super().stored_facts(corrected) | {"signed": yes_or_no(corrected.signed)}

    def is_valid(self) -> bool:
        """Whether every field is valid, every question answered, and all that a machine read looked at."""
        return super().is_valid() and not self.open_questions and not self.unseen

    @property
    def unseen(self) -> list[str]:
        """What was read off the paper and nobody has looked at yet, as people call the fields."""
        return [self._called(field.name) for field in self.paper.unseen] if self.paper else []

    @property
    def settled(self) -> dict[str, str]:
        """What was said of each figure that is typed otherwise than it was read."""
        return self.paper.settled(self.figures) if self.paper else {}

    def show_facts_without_faults(self) -> None:
        """The facts as they stand, for somebody who is still at it: what is not chosen yet is no fault."""
        typed = {name: self.data.get(name, "") for name in self.facts.fields} if self.data is not None else {}
        self.facts = PrescriptionFacts(patient=self.patient, initial=typed)
        if self.paper is not None:
            self.paper.set_beside([self.facts])

    def _called(self, name: str) -> str:
        eye, _, rest = name.partition("-")
        if not rest:
            return str(self.facts[name].label)
        return f"{eye} {str(self.eye_form.base_fields[rest].label).lower()}"

    def check_both_eyes(self) -> None:
        super().check_both_eyes()
        right, left = (form.cleaned_data for _, form in self.eyes)
        if self.mixed_cylinders:
            words = {True: "plus", False: "minus"}
            offer = self.figures[1].line("minus" if right["cylinder"] < 0 else "plus")
            self.left.add_error(
                "cylinder",
                f"The right eye is in {words[right['cylinder'] > 0]} cylinder, the left in "
                f"{words[left['cylinder'] > 0]}. Write both in one form; the left would be {offer}.",
            )

    @property
    def mixed_cylinders(self) -> bool:
        """Whether both eyes have a complete line and their cylinders have opposite signs."""
        right, left = self.figures
        if right.power is None or left.power is None:
            return False
        return right.power.cylinder * left.power.cylinder < 0

    @cached_property
    def figures(self) -> tuple[EyeFigures, EyeFigures]:
        """The figures that can be read so far, from every valid field."""
        if self.data is None:
            stored = self.corrected
            return figures_of(stored) if stored else (EyeFigures("right"), EyeFigures("left"))
        right, left = (EyeFigures.of(eye, _whole_power(form)) for eye, form in self.eyes)
        return right, left

    @property
    def unread(self) -> frozenset[str]:
        return frozenset(eye for eye, form in self.eyes if form.errors)

    @cached_property
    def before(self) -> Prescription | None:
        stored = self.corrected.tested_on if self.corrected else None
        tested_on = _read(self.facts).get("tested_on") or stored
        return prescription_before(self.patient, tested_on, self.corrected)

    @cached_property
    def before_figures(self) -> tuple[EyeFigures, EyeFigures] | None:
        return figures_of(self.before) if self.before else None

    @cached_property
    def worn_figures(self) -> tuple[EyeFigures, EyeFigures] | None:
        """What the pair worn now reads, for a patient without an earlier prescription; None if it is for other work."""
        if self.before is not None:
            return None
        use = _read(self.facts).get("use") or (self.corrected.use if self.corrected else Use.DISTANCE)
        worn = worn_now(self.patient, use, timezone.localdate())
        return figures_of(worn) if worn is not None and worn.use in comparable_uses(use) else None

    @cached_property
    def remarks(self) -> list[Remark]:
        right, left = self.figures
        if right.power is None and left.power is None:
            return []
        age = age_on(self.patient.born_on, timezone.localdate())
        stored = self.corrected.vertex_mm if self.corrected and self.data is None else None
        vertex = _read(self.facts).get("vertex_mm") or stored
        read = self.paper.remarks(self.figures, self.patient) if self.paper else []
        return (
            self._taken_in_twice
            + read
            + remarks(
                Typed(
                    right,
                    left,
                    before=self.before_figures or self.worn_figures,
                    before_is_worn=self.before_figures is None,
                    age=age,
                    vertex_known=vertex is not None,
                    unread=self.unread,
                    notes=self._notes,
                    limits=limits_in_force(),
                    country=Practice.current().country,
                )
            )
        )

    @property
    def _taken_in_twice(self) -> list[Remark]:
        """A question where this patient has the very same prescription already."""
        facts = _read(self.facts)
        tested_on, use = facts.get("tested_on"), facts.get("use")
        if self.corrected is not None or not use or self.before is None or self.before.tested_on != tested_on:
            return []
        for given in prescriptions_of_a_day(self.patient, self.before.tested_on, use):
            if all(_are_alike(one, other) for one, other in zip(figures_of(given), self.figures)):
                day = f"{given.tested_on:%d %b %Y}"
                said = f"The same prescription of {day} is on record already. Is this another one?"
                return [Remark("ask", said, f"twice:{given.public_id}", "Yes, take it in beside the other")]
        return []

    @property
    def _notes(self) -> tuple[str, ...]:
        notes = [(eye.capitalize(), note) for eye, form in self.eyes for note in form.notes]
        return tuple(f"{eye} eye: {note[0].lower()}{note[1:]}" for eye, note in notes)

    @cached_property
    def confirmed(self) -> frozenset[str]:
        getlist = getattr(self.data, "getlist", None)
        return frozenset(getlist("confirmed") if getlist else ())

    @property
    def asked(self) -> bool:
        """Whether someone tried to save, so that open questions now block it."""
        return self.data is not None

    @property
    def open_questions(self) -> list[Remark]:
        return [remark for remark in self.remarks if remark.level == "ask" and remark.key not in self.confirmed]


def _are_alike(one: EyeFigures, other: EyeFigures) -> bool:
    return one.balance == other.balance and not (differences(one, other) or differences(other, one))


def _read(form: Form) -> dict[str, Any]:
    """The fields of a form that could be read; the form may have faults in others, or no data yet."""
    form.is_valid()
    return getattr(form, "cleaned_data", {})


def _whole_power(form: EyeForm) -> dict[str, Any]:
    """What could be read; no power at all if part of it could not, because half a power is a different power."""
    read = _read(form)
    parts = ("sphere", "cylinder", "axis")
    return {name: None if name in parts and form.errors.keys() & set(parts) else value for name, value in read.items()}


def figures_of(prescription: Prescription | WornPair) -> tuple[EyeFigures, EyeFigures]:
    """The stored lines of both eyes as figures; an eye with no prescription is empty."""
    right, left = (_figures(prescription, eye) for eye in EYES)
    return right, left


def _figures(prescription: Prescription | WornPair, eye: Eye) -> EyeFigures:
    row = prescription.eye(eye)
    return EyeFigures(eye) if row is None else EyeFigures.of(eye, vars(row))
