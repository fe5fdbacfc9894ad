"""Scans beside the record: what was read of one, what differs, and who settled it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from dispensing.forms.prescription_entry import figures_of
from dispensing.models import PaperReading, Prescription
from dispensing.optics.conventions import EYES
from dispensing.prescribing.eye import EyeFigures
from dispensing.prescribing.paper.differs import Difference, both_written, differences, figures_read
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
    pairs = [(recorded, figures_read(eye, read.get(eye, {}))) for eye, recorded in zip(EYES, figures_of(prescription))]
    return [_worded(paper, found, *pair) for pair in pairs for found in differences(*pair)]


@dataclass(frozen=True)
class Refused:
    """A reason that was given for what is recorded and cannot be kept, with what is wrong with it."""

    paper: PaperReading
    name: str
    reason: str
    fault: str


@dataclass(frozen=True)
class PaperBeside:
    """A scan's reading, and what in it is recorded otherwise. ``refused``: of this scan, if a reason was."""

    of: PaperReading
    differing: list[Differs]
    refused: Refused | None = None


def papers_context(prescription: Prescription, refused: Refused | None = None) -> dict[str, Any]:
    """The readings of the prescription's scans."""
    return {
        "papers": [
            PaperBeside(paper, differing(paper, prescription), refused if refused and refused.paper == paper else None)
            for paper in papers_of(prescription)
        ]
    }


def _worded(paper: PaperReading, found: Difference, recorded: EyeFigures, read: EyeFigures) -> Differs:
    label = f"{found.eye.capitalize()} {found.name.replace('_', ' ')}"
    return Differs(_field_of(paper, f"{found.eye}-{found.name}"), label, *both_written(found, recorded, read))


def _field_of(paper: PaperReading, name: str) -> str:
    """The field with the snippet: of a prism that was read in one direction alone, the one that there is."""
    return next((one["name"] for one in paper.found if one["name"].startswith(name)), name)
