"""Scans beside the record: what was read of one, what differs, and who settled it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from dispensing.forms.prescription_entry import figures_of
from dispensing.models import PaperReading, Prescription
from dispensing.optics.conventions import EYES
from dispensing.optics.notation import format_power
from dispensing.prescribing.eye import MINUS
from dispensing.prescribing.paper.differs import Difference, differences, figures_read
from dispensing.queries.papers import papers_of
from dispensing.services.paper_figures import figures_of_fields


@dataclass(frozen=True)
class Differs:
    """One figure that is recorded otherwise than it was read. ``name``: of the field, for its snippet."""

    name: str
    label: str
    recorded: str
    read: str


def differing(paper: PaperReading, prescription: Prescription) -> list[Differs]:
    """What nobody has settled yet."""
    read = figures_of_fields(paper.found, paper.settled)
    return [
        _worded(found)
        for eye, recorded in zip(EYES, figures_of(prescription))
        for found in differences(recorded, figures_read(eye, read.get(eye, {})))
    ]


@dataclass(frozen=True)
class PaperBeside:
    """A scan's reading, and what in it is recorded otherwise."""

    of: PaperReading
    differing: list[Differs]


def papers_context(prescription: Prescription) -> dict[str, Any]:
    """The readings of the prescription's scans."""
    papers = papers_of(prescription)
    return {"papers": [PaperBeside(paper, differing(paper, prescription)) for paper in papers]}


def _worded(found: Difference) -> Differs:
    name = "prism_horizontal" if found.name == "prism" else found.name
    recorded = "nothing" if found.recorded is None else _written(found.name, found.recorded)
    label = f"{found.eye.capitalize()} {found.name.replace('_', ' ')}"
    return Differs(f"{found.eye}-{name}", label, recorded, _written(found.name, found.read))


def _written(name: str, value: float) -> str:
    if name == "axis":
        return f"{value:g}°"
    return f"{value:g} Δ" if name == "prism" else format_power(value, minus=MINUS)
