"""Is the prescribed prism complete, is its base direction sensible, and is it shared so that each lens can take it?"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.optics.prism import Prism, split_equally
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("prisms").rule


@rule(
    id="prism-base-pair",
    number=25,
    level="stop",
    title="A prism has its amount and its base",
    why="Half a prism cannot be made, and a prism the wrong way round doubles the trouble.",
)
def prism_base_pair(case: Case) -> Iterator[Finding]:
    for eye in case.both:
        for prism in eye.power.prisms:
            if prism.amount is None:
                found, text = (
                    None,
                    f"The {eye.name} has a prism base {prism.base or ''} without an amount".replace("  ", " "),
                )
            elif prism.amount < 0.0:
                found, text = prism.amount, f"The {eye.name} has a prism of {words.prism(prism.amount)}"
            elif prism.amount > 0.0 and prism.base is None:
                found, text = prism.amount, f"The {eye.name} has a prism of {words.prism(prism.amount)} without a base"
            else:
                continue
            yield Finding(
                f"{text}; a prism is an amount above 0 and its base: in, out, up or down.",
                "Give both.",
                eye.eye,
                found,
                "an amount and a base",
                "Δ",
                ("Type amount and base from the prescription.",),
                eye.at("prescription.prism"),
            )


@rule(
    id="prism-sense",
    number=26,
    level="ask",
    title="The prisms of the two eyes help each other",
    why="Both up, both down, or one in and one out cancel each other; that is seldom meant.",
)
def prism_sense(case: Case) -> Iterator[Finding]:
    for eye in case.both:
        bases = {prism.base for prism in eye.power.prisms if prism.amount and prism.base}
        if {"in", "out"} <= bases or {"up", "down"} <= bases:
            opposed = words.listed(sorted(str(base) for base in bases))
            yield _finding(eye.eye, f"The {eye.name} has prisms base {opposed}", eye.at("prescription.prism"))
    right, left = case.right.power.prism, case.left.power.prism
    if right is None or left is None:
        return
    if right.up_pd * left.up_pd > 0.0:
        both = "up" if right.up_pd > 0.0 else "down"
        yield _finding("both", f"Both eyes have prism base {both}", "prescription.left.prism")
    if right.in_pd * left.in_pd < 0.0:
        yield _finding("both", "One eye has prism base in, the other base out", "prescription.left.prism")


def _finding(eye: str, what: str, field: str) -> Finding:
    return Finding(
        f"{what}: these work against each other.",
        "Look at the prescription again, and confirm if it is so.",
        "both" if eye == "both" else ("right" if eye == "right" else "left"),
        what,
        "prisms that add up",
        None,
        ("Correct the base that was mistyped.", "Confirm if the prescription has it so."),
        field,
    )


@rule(
    id="prism-size",
    number=27,
    level="ask",
    title="Prism that a lens can bear",
    why="With much prism a lens is thick and heavy at its base and blurs colours; labs have their ceilings.",
)
def prism_size(case: Case) -> Iterator[Finding]:
    most = case.limit("prism-size", "most_pd")
    for eye in case.eyes:
        size = eye.made_power.prism_pd
        if above(size, most):
            yield Finding(
                f"The prism of the {eye.name} is {words.prism(size)}; more than {words.prism(most)} in one lens "
                "is thick and blurs colours.",
                "Ask whether it may be shared between the eyes; choose a small frame.",
                eye.eye,
                size,
                most,
                "Δ",
                (*_shared(case, eye), "Choose a small frame.", "Consider a stick-on prism."),
                eye.at("prescription.prism"),
            )


@rule(
    id="prism-split",
    number=28,
    level="ask",
    title="Large prism is shared between the eyes",
    why="All of it in one lens makes that lens thick and heavy beside the other.",
)
def prism_split(case: Case) -> Iterator[Finding]:
    most = case.limit("prism-split", "one_eye_pd")
    if case.is_one_eyed:
        return
    for eye, fellow in ((case.right, case.left), (case.left, case.right)):
        if above(eye.made_power.prism_pd, most) and not fellow.made_power.prism_pd and case.is_pair:
            yield Finding(
                f"All {words.prism(eye.made_power.prism_pd)} of prism are in the {eye.eye} lens; above "
                f"{words.prism(most)} it is usually shared.",
                "Ask the prescriber whether it may be, or confirm.",
                eye.eye,
                eye.made_power.prism_pd,
                most,
                "Δ",
                (*_shared(case, eye), "Confirm if it must stay on one eye."),
                eye.at("prescription.prism"),
            )


def _shared(case: Case, eye: EyeCase) -> tuple[str, ...]:
    """The same effect split half and half, as a remedy, if only this eye has prism."""
    fellow, prism = case.left if eye.eye == "right" else case.right, eye.made_power.prism
    if fellow.made_power.prism_pd or prism is None:
        return ()
    right, left = split_equally(*((prism, Prism()) if eye.eye == "right" else (Prism(), prism)))
    own, other = (right, left) if eye.eye == "right" else (left, right)
    said = f"{words.prism_parts(own)} {eye.eye}, {words.prism_parts(other)} {fellow.eye}"
    return (f"Shared equally: {said}, if the prescriber agrees.",)
