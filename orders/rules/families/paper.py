"""Does the order say what the paper says? What was read off the scan is held against the prescription as recorded."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from dispensing.optics.conventions import BASES
from dispensing.prescribing.eye import EyeFigures
from dispensing.prescribing.paper.differs import Difference, differences, figures_read
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.finding import Finding
from orders.rules.powers import LARGEST_USABLE_D
from orders.rules.registry import Family

rule = Family("the paper").rule

PAPER = "paper"
"""Under ``prescription.extra``: for each eye what was read without doubt and nobody has settled yet."""
NAMES = {"intermediate_add": "intermediate add"}


@rule(
    id="paper-differs",
    number=123,
    level="ask",
    title="The prescription as on its paper",
    why="A sign or an axis copied wrongly from the paper of a new patient contradicts nothing else in the order.",
)
def paper_differs(case: Case) -> Iterator[Finding]:
    read = (case.order.prescription.extra or {}).get(PAPER)
    if not isinstance(read, dict):
        return
    for eye in case.both:
        found = read.get(eye.eye)
        if isinstance(found, dict):
            recorded = _figures(eye, eye.prescribed.model_dump())
            for difference in differences(recorded, _figures(eye, found)):
                yield _finding(eye, difference)


def _figures(eye: EyeCase, written: dict[str, Any]) -> EyeFigures:
    """The figures of one eye that can be compared: numbers of a size that means anything, and prisms with a base."""
    kept = {name: value for name, value in written.items() if name != "prism" and _is_figure(name, value)}
    prisms = written.get("prism")
    parts = [part for part in prisms if _is_prism(part)] if isinstance(prisms, list | tuple) else []
    return figures_read(eye.eye, kept | {"prism": parts})


def _is_figure(name: str, value: Any) -> bool:
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return 1 <= value <= 180 if name == "axis" else abs(value) <= LARGEST_USABLE_D


def _is_prism(part: Any) -> bool:
    amount = part.get("amount") if isinstance(part, dict) else None
    return amount is not None and _is_figure("amount", amount) and amount >= 0 and part.get("base") in BASES


def _finding(eye: EyeCase, found: Difference) -> Finding:
    name = NAMES.get(found.name, found.name)
    ours = "nothing" if found.recorded is None else _written(found.name, found.recorded)
    theirs = _written(found.name, found.read)
    return Finding(
        f"The {name} of the {eye.name} is recorded as {ours}; off the scan of the paper {theirs} was read.",
        "Look at the paper: which is right?",
        eye.eye,
        found.recorded,
        found.read,
        {"axis": "°", "prism": "Δ"}.get(found.name, "D"),
        (
            f"Correct the prescription to {theirs}.",
            "If the paper says what is recorded, settle it on the prescription's page.",
        ),
        eye.at(f"prescription.{found.name}"),
    )


def _written(name: str, value: float) -> str:
    if name == "axis":
        return words.degrees(value)
    return f"{words.prism(value)} with its base" if name == "prism" else words.power(value)
