"""Safety wear: a remark asks for it, but the order's frame and lenses cannot be safety spectacles.

An order has no field for safety wear, so only its remarks can ask for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from orders.documents.order_report import Level
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import below
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("materials").rule

SAFETY = re.compile(r"(?i)\bsafety|\bz ?87|\ben ?166\b|\biso ?16321|\bprotective (eyewear|glasses|spectacles)")


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
    for eye, what, found, limit, key in faults:
        yield _finding(asked.group(0), f"{what} ({eye.eye} lens)", "stop", eye, found, limit, eye.at(f"lenses.{key}"))
    if not faults:
        what = "the order cannot say whether frame and lenses are marked for it"
        yield _finding(asked.group(0), what, "ask", None, None, "marked frame and lenses", "remarks")


def _fault(case: Case, eye: EyeCase) -> tuple[str, float | str, float | str, str] | None:
    """Why this lens is not one for safety wear: words, found, limit and the lens's key; None if nothing is known."""
    material, ordered = eye.material, eye.lens.centre_thickness_mm if eye.lens else None
    if material is not None and material.impact_resistant is False:
        return f"{material.name} is not impact-resistant", material.name, "an impact-resistant material", "material"
    least = case.limit("safety-job", "least_centre_mm")
    if ordered is not None and below(ordered, least):
        what = f"a centre of {words.mm(ordered)} is ordered, and {words.mm(least)} is the least"
        return what, ordered, least, "centre_thickness_mm"
    return None


def _finding(
    asked: str, what: str, level: Level, eye: EyeCase | None, found: float | str | None, limit: float | str, field: str
) -> Finding:
    return Finding(
        f"The remarks speak of “{asked}”, and {what}. Safety spectacles are made as such throughout: frame, "
        "lenses and marking to the local standard.",
        "Order them so, or clear the remark.",
        eye.eye if eye else None,
        found,
        limit,
        "mm" if isinstance(limit, float) else None,
        ("Order lenses and frame marked to the safety standard.", "Clear the remark if these are for everyday wear."),
        field,
        level,
    )
