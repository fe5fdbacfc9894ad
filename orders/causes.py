"""Why a pair was returned, made again or complained about, and whose it was: two lists of words. Pure.

The reasons to return a pair are those of common practice. What is nobody's mistake (wear, a changed mind, a new
prescription) is kept apart from mistakes, because shares of remakes mean nothing where the two are mixed.
"""

from __future__ import annotations

from enum import StrEnum


class Cause(StrEnum):
    POWER = "power"
    AXIS = "axis"
    ADD = "add"
    PRISM = "prism"
    HEIGHT = "height"
    THICKNESS = "thickness"
    WRONG_LENS = "wrong lens"
    TREATMENT = "treatment"
    FLAW = "flaw"
    GLAZING = "glazing"
    FRAME = "frame"
    ENTRY = "entry"
    MEASUREMENT = "measurement"
    LENS_CHOICE = "lens choice"
    NOT_TOLERATED = "not tolerated"
    PRESCRIPTION = "prescription"
    LATE = "late"
    DAMAGE = "damage"
    WEAR = "wear"
    CHANGED_MIND = "changed mind"


class Whose(StrEnum):
    LAB = "lab"
    PRACTICE = "practice"
    PRESCRIBER = "prescriber"
    SUPPLIER = "supplier"
    PATIENT = "patient"
    NOBODY = "nobody"


CAUSES: dict[Cause, str] = {
    Cause.POWER: "Power not as ordered",
    Cause.AXIS: "Axis not as ordered",
    Cause.ADD: "Add not as ordered",
    Cause.PRISM: "Prism or centration",
    Cause.HEIGHT: "Height of segment or cross",
    Cause.THICKNESS: "Thickness or curve",
    Cause.WRONG_LENS: "Another lens, material or corridor than ordered",
    Cause.TREATMENT: "Coating or tint wrong, or the two lenses unlike",
    Cause.FLAW: "Scratch, chip, bubble or mark",
    Cause.GLAZING: "Lens loose, strained or gaping in the frame",
    Cause.FRAME: "Frame wrong or damaged",
    Cause.ENTRY: "Typed or read wrongly from the prescription",
    Cause.MEASUREMENT: "PD, height or fit measured wrongly",
    Cause.LENS_CHOICE: "The lens does not suit what it is used for",
    Cause.NOT_TOLERATED: "The wearer does not get used to it",
    Cause.PRESCRIPTION: "The prescription was changed",
    Cause.LATE: "Too late for the wearer",
    Cause.DAMAGE: "Broken or scratched in use",
    Cause.WEAR: "Coating or material gave way in use",
    Cause.CHANGED_MIND: "The wearer wants something else",
}

WHOSE: dict[Whose, str] = {
    Whose.LAB: "The lab's",
    Whose.PRACTICE: "Ours",
    Whose.PRESCRIBER: "The prescriber's",
    Whose.SUPPLIER: "The frame supplier's",
    Whose.PATIENT: "The wearer's",
    Whose.NOBODY: "Nobody's",
}

CAUSE_CHOICES = [(str(cause), label) for cause, label in CAUSES.items()]
WHOSE_CHOICES = [(str(whose), label) for whose, label in WHOSE.items()]
"""The same for a model's column or a form's list."""

NO_MISTAKE = frozenset({Cause.DAMAGE, Cause.WEAR, Cause.CHANGED_MIND, Cause.PRESCRIPTION})
"""Reasons for which nobody made the pair wrongly."""

# What a lab can have done wrongly; anything else is no reason to return a pair to it.
OF_THE_LAB = (
    Cause.POWER,
    Cause.AXIS,
    Cause.ADD,
    Cause.PRISM,
    Cause.HEIGHT,
    Cause.THICKNESS,
    Cause.WRONG_LENS,
    Cause.TREATMENT,
    Cause.FLAW,
    Cause.GLAZING,
    Cause.FRAME,
    Cause.LATE,
)
# What a practice can have done wrongly though the lab made the pair as ordered.
OF_THE_PRACTICE = (
    Cause.ENTRY,
    Cause.MEASUREMENT,
    Cause.POWER,
    Cause.AXIS,
    Cause.ADD,
    Cause.PRISM,
    Cause.HEIGHT,
    Cause.LENS_CHOICE,
    Cause.TREATMENT,
    Cause.FRAME,
)


def in_words(cause: str, whose: str) -> str:
    """``Axis not as ordered; the lab's``; empty where neither is said."""
    said = [CAUSES[Cause(cause)]] if cause else []
    said += [WHOSE[Whose(whose)].lower() if said else WHOSE[Whose(whose)]] if whose else []
    return "; ".join(said)
