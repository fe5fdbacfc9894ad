"""Falls: a first multifocal lens late in life, and one for somebody who falls. What the studies say, and no more."""

from __future__ import annotations

from collections.abc import Iterator

from orders.documents.lens_catalogue import DesignKind
from orders.documents.lens_order import EYES
from orders.rules.case import Case, EyeCase
from orders.rules.finding import Finding
from orders.rules.powers import WrittenPower
from orders.rules.registry import Family

rule = Family("lens choice").rule

WALKED_IN: frozenset[DesignKind | None] = frozenset({"bifocal", "trifocal", "progressive"})
"""Office lenses are left out: they are for a desk."""

ASK = "Ask about falls in the last year, and how often the wearer walks outdoors."
VISIBLE = (
    "In people at risk of falls, a distance pair for outdoors as well meant fewer falls for those who were often out; "
    "for those who seldom were it meant no fewer, and more outdoors."
)
LORD = "Among them, wearers of progressive lenses more often fell repeatedly than wearers of bifocals."
DECIDES = "The licensed practitioner decides."


@rule(
    id="first-progressive-late",
    number=106,
    level="ask",
    title="A first multifocal lens late in life, or for somebody who falls",
    why="Steps are seen blurred through the reading part: somebody new to it late, or who falls, is asked first.",
)
def first_progressive_late(case: Case) -> Iterator[Finding]:
    eyes = [eye for eye in case.eyes if eye.kind in WALKED_IN]
    if not eyes:
        return
    age, elder = case.age, case.limit("first-progressive-late", "elder_years")
    first, said = _is_first(case), case.remarks.falls
    if said is not None:
        known = "; they are the first" if first else ""
        text = f"The remarks speak of “{said}”, and {eyes[0].kind_words} lenses are ordered{known}."
        yield _finding(eyes, text, said, "falls talked about", None, "remarks")
    elif age is not None and first and age >= elder:
        text = f"At the age of {age} these are the first multifocal lenses ({eyes[0].kind_words})."
        yield _finding(eyes, text, float(age), elder, "years", eyes[0].at("lenses.design"))
    elif age is not None and first is None and age >= case.limit("first-progressive-late", "unknown_years"):
        limit = case.limit("first-progressive-late", "unknown_years")
        text = f"At the age of {age}, nothing is known of what was worn before these {eyes[0].kind_words} lenses."
        yield _finding(eyes, text, float(age), limit, "years", eyes[0].at("lenses.design"))


def _is_first(case: Case) -> bool | None:
    """Whether nothing multifocal was worn before, which a pair for one distance is not; None if nothing is known."""
    previous = case.order.previous_prescription or case.order.patient.present_spectacles
    powers = [] if previous is None else [WrittenPower.of(previous.eye(eye)) for eye in EYES]
    if previous is None or all(power.sphere is None and power.add is None for power in powers):
        return None
    for_one_distance = previous.use not in (None, "distance_and_near")
    return for_one_distance or not any(power.add for power in powers)


def _finding(
    eyes: list[EyeCase], text: str, found: float | str, limit: float | str, unit: str | None, field: str
) -> Finding:
    progressive = any(eye.kind == "progressive" for eye in eyes)
    studies = f"{VISIBLE} {LORD}" if progressive else VISIBLE
    doctor = " See that the doctor knows." if field == "remarks" else ""
    return Finding(
        text,
        f"{ASK}{doctor} {studies} {DECIDES}",
        None,
        found,
        limit,
        unit,
        (
            "Confirm that falls and going out were talked about.",
            "Order a distance pair for outdoors as well, for somebody who is often out.",
            "Order separate pairs.",
        ),
        field,
    )
