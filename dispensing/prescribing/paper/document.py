"""A reading as ``prescription-reading/1``: plain JSON values. What is not on the paper or not readable is null."""

from __future__ import annotations

from datetime import date
from typing import Any

from dispensing.prescribing.paper.reading import EyeRead, Reading
from dispensing.prescribing.paper.words import Box, Read

FORMAT = "prescription-reading/1"
EYE_FIELDS = ("sphere", "cylinder", "axis", "add", "intermediate_add")
FACTS = ("vertex_mm", "pd_mm", "tested_on", "expires_on", "prescriber", "patient", "born_on")
UNSURE_AT_MOST = 0.5
"""What is marked has no more confidence than this, so that a reader who knows no marks is warned too."""


def document(reading: Reading, file: str) -> dict[str, Any]:
    """The whole of it, with the file's name. Sizes in px of the page, confidences 0 to 1."""
    return {
        "format": FORMAT,
        "file": file,
        "right": _eye(reading.right),
        "left": _eye(reading.left),
        **{name: read_field(reading.facts.get(name)) for name in FACTS},
        "use": reading.use or None,
        "other_prescriptions": reading.others,
        "unread": [{"text": text, "box": _box(box), "page": page} for text, box, page in reading.unread],
    }


def _eye(eye: EyeRead) -> dict[str, Any]:
    return {
        **{name: read_field(getattr(eye, name)) for name in EYE_FIELDS},
        "prism": [{"amount": read_field(amount), "base": read_field(base)} for amount, base in eye.prism],
        "acuity": read_field(eye.acuity),
        **({"extra": {"balance": read_field(eye.balance)}} if eye.balance else {}),
    }


def read_field(read: Read | None) -> dict[str, Any] | None:
    """One field; ``unsure`` says in words why a person has to look, and is absent where nothing is against it."""
    if read is None:
        return None
    value = read.value.isoformat() if isinstance(read.value, date) else read.value
    doubted = min(read.confidence, UNSURE_AT_MOST) if read.unsure else read.confidence
    said = {
        "value": value,
        "text": read.text,
        "confidence": round(doubted, 3),
        "box": _box(read.box),
        "page": read.page,
    }
    return said | ({"unsure": read.unsure} if read.unsure else {})


def _box(box: Box) -> list[float]:
    return [round(side, 1) for side in box]
