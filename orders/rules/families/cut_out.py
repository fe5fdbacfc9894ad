"""Does the lens cut out of the blank?"""

from __future__ import annotations

from collections.abc import Iterator

from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import at_least
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("cut-out").rule


@rule(
    id="blank-size",
    number=52,
    level="stop",
    title="The lens cuts out of the blank",
    why="A blank that is too small leaves a gap at the rim: the job fails at the edger, after days.",
)
def blank_size(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        fit = eye.figures.blank_fit
        if fit is None or fit.fits:
            continue
        yield Finding(
            f"The {eye.eye} lens needs a blank of {words.mm(fit.needed_mm)}; the blank is "
            f"{words.mm(fit.blank.diameter_mm)}.",
            _advice(eye),
            eye.eye,
            fit.needed_mm,
            fit.blank.diameter_mm,
            "mm",
            _remedies(eye),
            eye.at("lenses.blank_mm"),
        )


def _larger(eye: EyeCase) -> float | None:
    """The smallest listed blank that would do and is larger than the one ordered, if there is one."""
    needed = eye.figures.blank_needed_mm
    listed = [row.diameter_mm for row in eye.figures.listed_blanks]
    return min((size for size in listed if needed is not None and at_least(size, needed)), default=None)


def _advice(eye: EyeCase) -> str:
    larger = _larger(eye)
    if larger is not None:
        return f"Order the {words.mm(larger)} blank."
    return "No larger blank of this lens is listed: choose a smaller frame, one nearer the PD, or another lens."


def _remedies(eye: EyeCase) -> tuple[str, ...]:
    others = ("Choose a smaller frame or one whose centres lie nearer the PD.", "Choose a lens with a larger blank.")
    larger = _larger(eye)
    return others if larger is None else (f"Order the {words.mm(larger)} blank.", *others)
