"""Is there an add where the lens needs one, and can it be the add of a person."""

from __future__ import annotations

from collections.abc import Iterator

from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, below, on_step
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("adds").rule

KINDS = {"bifocal": "bifocal", "trifocal": "trifocal", "progressive": "progressive", "office": "office"}


@rule(
    id="add-presence",
    number=20,
    level="stop",
    title="A multifocal lens has an add; an add has its purpose",
    why="A missing or unwanted add is the commonest reason for a lab's call-back (30.5 %).",
    source="Pacific University survey of optometrists and labs, 1992",
)
def add_presence(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        if eye.is_multifocal and eye.power.add is None and not _has_no_sight(eye):
            kind = KINDS[eye.kind or ""]
            yield Finding(
                f"The {eye.name} has a {kind} lens and no add. Give the add, or choose a single vision lens.",
                eye.eye,
                None,
                "an add",
                "D",
                ("Type the add from the prescription.", "Choose a single vision lens if only one distance is wanted."),
                eye.at("prescription.add"),
            )
        elif eye.kind == "single_vision" and eye.power.add is not None and case.order.prescription.use is None:
            yield Finding(
                f"The {eye.name} has an add of {words.power(eye.power.add)} and a single vision lens, and nothing "
                "says which distance it is for. Say distance, intermediate or near.",
                eye.eye,
                eye.power.add,
                "a stated use",
                "D",
                ("State the use: distance, intermediate or near.", "Choose a multifocal lens."),
                "prescription.use",
            )


def _has_no_sight(eye: EyeCase) -> bool:
    return eye.lens is not None and eye.lens.instruction in ("occluder", "frosted")


@rule(
    id="add-range",
    number=21,
    level="stop",
    title="An add between +0.50 and +4.00 on the quarter-dioptre step",
    why="Outside it the near sphere, a sign or a decimal point has slipped into the add.",
    source="Range of adds that are prescribed (common practice)",
)
def add_range(case: Case) -> Iterator[Finding]:
    least, most = case.limit("add-range", "least_d"), case.limit("add-range", "most_d")
    step = case.limit("add-range", "step_d")
    for eye in case.both:
        add = eye.power.add
        if add is None:
            continue
        if below(add, least) or above(add, most):
            limit = least if below(add, least) else most
            allowed = f"adds go from {words.power(least)} to {words.power(most)}"
        elif not on_step(add, step):
            limit, allowed = step, f"adds go in steps of {words.dioptres(step)}"
        else:
            continue
        yield Finding(
            f"The add of the {eye.name} is {words.power(add)}; {allowed}. {_advice(eye, add)}",
            eye.eye,
            add,
            limit,
            "D",
            (_advice(eye, add),),
            eye.at("prescription.add"),
        )


def _advice(eye: EyeCase, add: float) -> str:
    """If the figure makes sense as a near sphere, say which add that would be."""
    sphere = eye.power.sphere
    if sphere is not None and 0.5 <= add - sphere <= 4.0 and on_step(add - sphere, 0.25):
        return f"If this is the near sphere, the add is {words.power(add - sphere)}."
    return "Type the add again from the prescription."
