"""Is the axis that of last time, or at least not its digits swapped or 90 degrees off.

Compared in minus cylinder form; without a last prescription against the mirror image of the other eye.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import permutations

from dispensing.optics.conventions import axis_difference
from dispensing.optics.power import residual_cylinder
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("prescription changes").rule

LOOK = "Look at the written prescription again."
CONFIRM = "Confirm if it is as prescribed."


@rule(
    id="axis-slip",
    number=16,
    level="ask",
    title="The axis as last time, or a good reason",
    why="Swapped digits or an axis off by 90 make a pair that cannot be worn; axis is 11 % of labs' call-backs.",
    source="Pacific University survey, 1992; residual cylinder 2 C sin θ",
)
def axis_slip(case: Case) -> Iterator[Finding]:
    for eye in case.both:
        now = eye.power.minus_form
        then = eye.previous_power.minus_form if eye.previous_power is not None else None
        if now.cylinder is None or now.axis is None or not 1.0 <= now.axis <= 180.0:
            continue
        if then is not None and then.cylinder is not None and then.axis is not None:
            yield from _axis_against_last(case, eye, now.axis, now.cylinder, then.axis)
        else:
            yield from _axis_against_mirror(case, eye, now.axis, now.cylinder)


def _axis_against_last(case: Case, eye: EyeCase, axis: float, cylinder: float, then: float) -> Iterator[Finding]:
    change = axis_difference(axis, then)
    if not above(change, _allowed_change(case, cylinder)):
        return
    slip = _slip(case, axis, then, change)
    if not slip and not at_least(abs(cylinder), case.limit("axis-slip", "cylinder_d")):
        return
    left_over = residual_cylinder(cylinder, change)
    yield Finding(
        f"The axis of the {eye.name} is {words.number(eye.power.axis or axis)}, {words.degrees(change)} from last "
        f"time's {words.number(_as_written(eye, then))}{slip}; a cylinder of {words.dioptres(cylinder)} that far off "
        f"leaves {words.dioptres(left_over)}. {LOOK}",
        eye.eye,
        change,
        _allowed_change(case, cylinder),
        "°",
        ("Correct the axis if it was mistyped.", CONFIRM),
        eye.at("prescription.axis"),
    )


def _as_written(eye: EyeCase, minus_axis: float) -> float:
    """An axis of minus form in the form the prescription is written in."""
    written_plus = eye.power.cylinder is not None and eye.power.cylinder > 0.0
    turned = minus_axis + 90.0 if minus_axis <= 90.0 else minus_axis - 90.0
    return turned if written_plus else minus_axis


def _allowed_change(case: Case, cylinder: float) -> float:
    """Less for a strong cylinder; for a weak one what leaves no more than a small residual cylinder."""
    if at_least(abs(cylinder), case.limit("axis-slip", "strong_cylinder_d")):
        return case.limit("axis-slip", "strong_change_deg")
    if at_least(abs(cylinder), case.limit("axis-slip", "cylinder_d")):
        return case.limit("axis-slip", "change_deg")
    share = case.limit("axis-slip", "weak_residual_d") / (2.0 * abs(cylinder))
    return math.degrees(math.asin(min(share, 1.0)))


def _slip(case: Case, axis: float, wanted: float, change: float) -> str:
    """How the axis looks like a slip of the wanted one, as words to put in; empty if it does not."""
    near = case.limit("axis-slip", "near_deg")
    for swapped in _digit_swaps(axis):
        if axis_difference(swapped, wanted) <= near:
            return f" (with its digits swapped it reads {swapped})"
    return " (90 degrees off)" if abs(change - 90.0) <= near else ""


def _digit_swaps(axis: float) -> list[int]:
    """Axes with the same digits in another order; 8 is also read as 08."""
    digits = f"{axis:.0f}"
    padded = [digits] if len(digits) > 1 else [f"0{digits}"]
    swapped = {int("".join(order)) for text in padded for order in permutations(text)}
    return sorted(value for value in swapped if 1 <= value <= 180 and value != axis)


def _axis_against_mirror(case: Case, eye: EyeCase, axis: float, cylinder: float) -> Iterator[Finding]:
    """Without a last prescription: most pairs of eyes are near mirror images, so a slip shows there."""
    fellow = (case.left if eye.eye == "right" else case.right).power.minus_form
    if fellow.cylinder is None or fellow.axis is None:
        return
    if not at_least(min(abs(cylinder), abs(fellow.cylinder)), case.limit("axis-slip", "cylinder_d")):
        return
    mirror = 180.0 - fellow.axis
    change = axis_difference(axis, mirror)
    slip = _slip(case, axis, mirror, change) if change > case.limit("axis-slip", "mirror_deg") else ""
    if not slip:
        return
    yield Finding(
        f"The axis of the {eye.name} is {words.number(axis)}, {words.degrees(change)} from the mirror image of the "
        f"other eye's{slip}. {LOOK}",
        eye.eye,
        change,
        case.limit("axis-slip", "mirror_deg"),
        "°",
        ("Correct the axis if it was mistyped.", CONFIRM),
        eye.at("prescription.axis"),
    )
