"""Is everything there that the lab needs to begin? Who it is for, what, how it is supplied, and what it replaces."""

from __future__ import annotations

from collections.abc import Iterator

from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("completeness").rule


@rule(
    id="job-complete",
    number=107,
    level="stop",
    title="The job is fully said",
    why="Missing information is the commonest reason why a lab cannot start.",
)
def job_complete(case: Case) -> Iterator[Finding]:
    order = case.order
    if not (order.lab.name or "").strip():
        yield _missing("No lab is named.", "a lab", "Choose the lab.", "lab.name")
    if not any(_is_prescribed(eye) for eye in case.both):
        yield _missing("There is no prescription.", "a prescription", "Choose the prescription.", "prescription")
    if not case.eyes:
        yield _missing("No lens is ordered for either eye.", "a lens", "Choose the lenses.", "lenses.right")
    for eye in case.eyes:
        yield from _lens_complete(eye)
    if order.supply is None:
        text = "Nothing says whether the lenses come uncut, edged or fitted."
        yield _missing(text, "uncut, edged or fitted", "Say how the lenses are supplied.", "supply")
    elif order.supply != "uncut":
        yield from _route_complete(case)


def _is_prescribed(eye: EyeCase) -> bool:
    """Whether there is anything to make for this eye: a power, if only in part, or a lens made without one."""
    said = (eye.prescribed.sphere, eye.prescribed.cylinder, eye.prescribed.axis, eye.prescribed.add)
    instructed = eye.lens is not None and eye.lens.instruction is not None
    return instructed or any(figure is not None for figure in said)


def _lens_complete(eye: EyeCase) -> Iterator[Finding]:
    lens, design = eye.lens, eye.design
    if lens is None:
        return
    for key, name, known in (("design", "lens", design), ("material", "material", eye.material)):
        if known is None and not (getattr(lens, key) or "").strip():
            text = f"No {name} is named for the {eye.name}."
            yield _missing(text, f"a {name}", f"Choose the {name}.", eye.at(f"lenses.{key}"), eye)
    if design is not None and lens.corridor_mm is None and len(design.corridors) > 1:
        listed = words.listed([words.mm(row.length_mm) for row in design.corridors], "or")
        text = f"{design.name} ({eye.eye} lens) comes with several corridors, and none is named."
        yield _missing(text, listed, f"Choose {listed}.", eye.at("lenses.corridor_mm"), eye, liftable=True)


def _route_complete(case: Case) -> Iterator[Finding]:
    frame = case.order.frame
    if frame.mount is None:
        text = "The lenses are to be edged, and nothing says how the frame holds them."
        yield _missing(text, "full rim, grooved or drilled", "Say full rim, grooved or drilled.", "frame.mount")
    if frame.source is None:
        text = "The lenses are to be edged, and nothing says where the frame or its trace comes from."
        yield _missing(text, "the way of the frame", "Say how the frame reaches the lab.", "frame.source")
    if frame.source == "trace_only" and frame.shape is None:
        text = "The lab is to work from a trace, and there is none."
        yield _missing(text, "a traced shape", "Send the traced shape.", "frame.shape")


def _missing(
    text: str, limit: str, remedy: str, field: str, eye: EyeCase | None = None, *, liftable: bool = False
) -> Finding:
    """What the lab cannot begin without. Only a corridor may be left to the lab, and then with a reason."""
    return Finding(text, remedy, eye.eye if eye else None, None, limit, None, (remedy,), field, liftable=liftable)


@rule(
    id="account-and-names",
    number=117,
    level="stop",
    title="Practice, account, patient and order are named",
    why="A job that nobody can place waits until somebody asks for it.",
)
def account_and_names(case: Case) -> Iterator[Finding]:
    order = case.order
    for value, name, field in (
        (order.number, "number of the order", "number"),
        (order.practice.name, "practice's name", "practice.name"),
        (order.practice.account, "practice's account with the lab", "practice.account"),
        (order.patient.reference, "patient's reference", "patient.reference"),
    ):
        if not (value or "").strip():
            text, advice = f"The {name} is missing.", "Give it, so that the lab can place the job."
            yield Finding(text, advice, None, None, f"the {name}", None, (f"Give the {name}.",), field)
