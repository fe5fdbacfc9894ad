"""Eye protection: work and play for which spectacles are none, and safety spectacles that cannot be such.

An order has no field for what its wearer does. The remarks tell, and what the practice has on record as occupation and
recreation comes as the words about a danger alone, under the patient's ``extra.hazards``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from dispensing.trade.remark_words import Mention, mentions
from orders.documents.order_report import Level
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import at_least, below
from orders.rules.finding import Finding
from orders.rules.registry import Family
from orders.rules.remark_agrees import agrees

rule = Family("materials").rule

SAFETY = re.compile(
    r"(?i)\bsafety (eyewear|glasses|spec(tacle)?s|wear|lens\w*|frames?|standard|goggles|pair)|\bz ?87|\ben ?166\b"
    r"|\biso ?16321|\bprotective (eyewear|glasses|spectacles)"
)
AMERICAN = frozenset({"US", "CA"})
"""Countries whose safety spectacles are made to ANSI Z87.1 or to a standard with its thicknesses."""


@rule(
    id="eye-hazard",
    number=73,
    level="ask",
    title="No spectacles where eye protection is needed",
    why="Wearers take their spectacles for protection; at a grinder or on a squash court they break into the eye.",
)
def eye_hazard(case: Case) -> Iterator[Finding]:
    told: set[str] = set()
    for whence, text, field in _told(case):
        for mention in mentions(text, "hazard"):
            if mention.meaning.about in told or agrees(case, mention):
                continue
            told.add(mention.meaning.about)
            yield _hazard(case, whence, mention, field)


def _told(case: Case) -> Iterator[tuple[str, str, str]]:
    """Where it is said, in words, what is said, and the order's key of it."""
    yield "The remarks speak of", case.order.remarks or "", "remarks"
    hazards = (case.order.patient.extra or {}).get("hazards")
    for text in hazards if isinstance(hazards, list | tuple) else ():
        if isinstance(text, str):
            yield "The patient's record speaks of", text, "patient.extra.hazards"


def _hazard(case: Case, whence: str, mention: Mention, field: str) -> Finding:
    only = " The wearer has one good eye to lose." if case.is_one_eyed else ""
    return Finding(
        f"{whence} “{mention.said}” ({mention.meaning.about}), and these are ordinary spectacles.{only}",
        f"Say so to the wearer. {mention.meaning.question} Local rules and the licensed practitioner decide.",
        case.pair_or_eye if case.eyes else None,
        mention.said,
        "eye protection for it",
        None,
        ("Order eye protection beside or in place of them.", "Confirm that the wearer has it and was told."),
        field,
    )


@rule(
    id="safety-job",
    number=73,
    level=("stop", "ask"),
    title="Safety spectacles are safety spectacles throughout",
    why="A safety lens in a dress frame, or a dress lens in a safety frame, protects nobody and may not be marked.",
)
def safety_job(case: Case) -> Iterator[Finding]:
    asked = SAFETY.search(case.order.remarks or "")
    if asked is None:
        return
    faults = [(eye, *fault) for eye in case.eyes if (fault := _fault(case, eye)) is not None]
    for eye, what, found, limit, key, level in faults:
        yield _finding(asked.group(0), f"{what} ({eye.eye} lens)", level, eye, found, limit, eye.at(f"lenses.{key}"))
    if not faults:
        what = "the order cannot say whether frame and lenses are marked for it"
        yield _finding(asked.group(0), what, "ask", None, None, "marked frame and lenses", "remarks")


Fault = tuple[str, float | str, float | str, str, Level]
"""Words, found, limit, the lens's key and the level."""


def _fault(case: Case, eye: EyeCase) -> Fault | None:
    """Why this lens is not one for safety wear; None if nothing is known."""
    material, ordered = eye.material, eye.lens.centre_thickness_mm if eye.lens else None
    tough = material is None or material.impact_resistant is not False
    if material is not None and not tough and ordered is None:
        said = f"{material.name} is not impact-resistant"
        return said, material.name, "an impact-resistant material", "material", "stop"
    least = _least_centre(case, eye, tough)
    if ordered is not None and below(ordered, least):
        impact = "high" if tough else "basic"
        said = (
            f"a centre of {words.mm(ordered)} is ordered, and {words.mm(least)} is the least for {impact} impact "
            "(ANSI Z87.1; EN ISO 16321-1 tests the lens and names no thickness)"
        )
        return said, ordered, least, "centre_thickness_mm", "stop" if _is_american(case) or not tough else "ask"
    return None


def _least_centre(case: Case, eye: EyeCase, tough: bool) -> float:
    """The least thickness in mm: of high impact for a tough material, else of basic impact, less in a strong plus."""
    if tough:
        return case.limit("safety-job", "high_impact_mm")
    power = eye.made_power.optical
    strong_plus_d = case.limit("safety-job", "strong_plus_d")
    strong = power is not None and at_least(max(power.sphere, power.sphere + power.cylinder), strong_plus_d)
    return case.limit("safety-job", "basic_in_plus_mm" if strong else "basic_impact_mm")


def _is_american(case: Case) -> bool:
    return (case.order.practice.country or "").strip().upper().partition("-")[0] in AMERICAN


def _finding(
    asked: str, what: str, level: Level, eye: EyeCase | None, found: float | str | None, limit: float | str, field: str
) -> Finding:
    return Finding(
        f"The remarks speak of “{asked}”, and {what}. Safety spectacles are made as such throughout: frame, "
        "lenses and marking to the local standard, EN ISO 16321-1 (before it EN 166) or ANSI Z87.1.",
        "Order them so, or clear the remark.",
        eye.eye if eye else None,
        found,
        limit,
        "mm" if isinstance(limit, float) else None,
        ("Order lenses and frame marked to the safety standard.", "Clear the remark if these are for everyday wear."),
        field,
        level,
    )
