"""Are the heights there, and do they lie on the lens."""

from __future__ import annotations

from collections.abc import Iterator

from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least, at_most, below
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("heights").rule

TO_WHAT = {
    "progressive": "fitting cross",
    "office": "fitting cross",
    "bifocal": "segment top",
    "trifocal": "segment top",
}


@rule(
    id="height-needed",
    number=36,
    level=("stop", "ask"),
    title="A height where the lens is placed by one",
    why="A multifocal lens without a height cannot be made; a strong lens off its height makes prism.",
    source="Multifocal lenses are ordered with a height (common practice)",
)
def height_needed(case: Case) -> Iterator[Finding]:
    strong = case.limit("height-needed", "single_vision_power_d")
    for eye in case.eyes:
        if eye.fitted.height_mm is not None:
            continue
        if eye.is_multifocal:
            what = TO_WHAT[eye.kind or ""]
            text = f"The {eye.name} has a {eye.kind} lens and no height. Measure the height of the {what}."
            remedies = (f"Measure from the lowest point of the lens shape to the {what}.",)
            yield Finding(text, eye.eye, None, "a height", "mm", remedies, eye.at("fitting.height_mm"))
        elif eye.kind == "single_vision" and _is_strong(eye, strong):
            text = (
                f"The {eye.name} has a lens of {words.dioptres(eye.power.strongest_d or 0.0)} and no height for its "
                f"optical centre; from {words.dioptres(strong)} on give one, or confirm the middle of the frame."
            )
            remedies = ("Measure the height of the optical centre.",)
            field = eye.at("fitting.height_mm")
            yield Finding(text, eye.eye, None, "a height", "mm", remedies, field, "ask")


def _is_strong(eye: EyeCase, limit: float) -> bool:
    return eye.power.strongest_d is not None and at_least(eye.power.strongest_d, limit)


@rule(
    id="height-inside-frame",
    number=37,
    level=("stop", "ask"),
    title="A height that lies on the lens",
    why="A height outside the lens cannot be; one near the rim or below the middle leaves a zone unusable.",
    source="Fitting heights of progressive lenses (common practice)",
)
def height_inside_frame(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        height, b = eye.fitted.height_mm, case.order.frame.b_mm
        if height is None:
            continue
        if at_most(height, 0.0) or (b is not None and at_least(height, b)):
            yield _off_the_lens(eye, height, b)
        elif b is not None and eye.kind == "progressive":
            yield from _badly_placed(case, eye, height, b)


def _off_the_lens(eye: EyeCase, height: float, b: float | None) -> Finding:
    depth = "the lens depth" if b is None else f"the lens depth of {words.mm(b)}"
    return Finding(
        f"The height of the {eye.name} is {words.mm(height)}; it must lie between 0 and {depth}. "
        "Measure it again from the lowest point of the lens shape, or correct B.",
        eye.eye,
        height,
        0.0 if height <= 0.0 or b is None else b,
        "mm",
        ("Measure the height again in this frame.", "Correct B if the frame is deeper."),
        eye.at("fitting.height_mm"),
    )


def _badly_placed(case: Case, eye: EyeCase, height: float, b: float) -> Iterator[Finding]:
    top = b - case.limit("height-inside-frame", "least_above_cross_mm")
    bottom = b / 2.0 - case.limit("height-inside-frame", "most_below_middle_mm")
    if not (above(height, top) or below(height, bottom)):
        return
    side, limit = ("high", top) if above(height, top) else ("low", bottom)
    yield Finding(
        f"The fitting cross of the {eye.name} is {words.mm(height)} up, {side} for a lens {words.mm(b)} deep; "
        f"{words.mm(bottom)} to {words.mm(top)} is usual. Look at the fit of the frame and measure again.",
        eye.eye,
        height,
        limit,
        "mm",
        ("Adjust the frame on the face and measure again.", "Choose a frame whose depth suits."),
        eye.at("fitting.height_mm"),
        "ask",
    )
