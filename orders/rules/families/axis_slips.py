"""Is the axis the same as last time, or at least not with its digits swapped or 90 degrees off?

It is compared in minus cylinder form with the last prescription, or else the pair worn now, or else the mirror image of
the other eye.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

from dispensing.optics.conventions import axis_difference, normalised_axis
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
)
def axis_slip(case: Case) -> Iterator[Finding]:
    for eye in case.both:
        now = eye.power.minus_form
        then = eye.earlier.power.minus_form if eye.earlier is not None else None
        if now.cylinder is None or now.axis is None or not 1.0 <= (eye.power.axis or 0.0) <= 180.0:
            continue
        if then is not None and then.cylinder is not None and then.axis is not None:
            yield from _axis_against_last(case, eye, now.axis, now.cylinder, then.axis)
        else:
            yield from _axis_against_mirror(case, eye, now.axis, now.cylinder)


def _axis_against_last(case: Case, eye: EyeCase, axis: float, cylinder: float, then: float) -> Iterator[Finding]:
    change, allowed = axis_difference(axis, then), _allowed_change(case, cylinder)
    exact = _is_exact_swap(case, eye, cylinder, then, change)
    if not exact and not above(change, allowed):
        return
    slip = _slip(case, eye, then, change)
    # The axis of a weak cylinder varies; only what looks like a slip, or would be noticed, is worth a question.
    weak = not at_least(abs(cylinder), case.limit("axis-slip", "cylinder_d"))
    left_over = residual_cylinder(cylinder, change)
    least = "slip_residual_d" if slip else "weak_residual_d"
    if weak and not at_least(left_over, case.limit("axis-slip", least)):
        return
    allowed = min(allowed, case.limit("axis-slip", "swap_least_deg")) if exact else allowed
    yield Finding(
        f"The axis of the {eye.name} is {words.number(eye.power.axis or axis)}, {words.degrees(change)} from "
        f"{_before(eye, then)}{slip}; a cylinder of {words.dioptres(cylinder)} that far off leaves "
        f"{words.dioptres(left_over)}.",
        LOOK,
        eye.eye,
        change,
        allowed,
        "°",
        ("Correct the axis if it was mistyped.", CONFIRM),
        eye.at("prescription.axis"),
    )


def _before(eye: EyeCase, then: float) -> str:
    axis = words.number(_as_written(eye, then))
    return eye.earlier.its(axis) if eye.earlier else axis


def _is_exact_swap(case: Case, eye: EyeCase, cylinder: float, wanted: float, change: float) -> bool:
    """Whether the axis is the expected one with its digits swapped: 12 for 21 is only 9 degrees, but still a slip."""
    if not at_least(change, case.limit("axis-slip", "swap_least_deg")):
        return False
    if not at_least(abs(cylinder), case.limit("axis-slip", "mirror_cylinder_d")):
        return False
    near, then = case.limit("axis-slip", "swap_near_deg"), _as_written(eye, wanted)
    return any(axis_difference(swapped, then) <= near for swapped in _digit_swaps(eye.power.axis or 0.0))


def _as_written(eye: EyeCase, minus_axis: float) -> float:
    """An axis in minus cylinder form, converted to the form in which the prescription is written."""
    written_plus = eye.power.cylinder is not None and eye.power.cylinder > 0.0
    return normalised_axis(minus_axis + 90.0) if written_plus else minus_axis


def _allowed_change(case: Case, cylinder: float) -> float:
    """How far the axis may turn before it is questioned, in degrees: the stronger the cylinder, the less."""
    if at_least(abs(cylinder), case.limit("axis-slip", "strong_cylinder_d")):
        return case.limit("axis-slip", "strong_change_deg")
    if at_least(abs(cylinder), case.limit("axis-slip", "cylinder_d")):
        return case.limit("axis-slip", "change_deg")
    return case.limit("axis-slip", "weak_change_deg")


def _slip(case: Case, eye: EyeCase, wanted: float, change: float) -> str:
    """In what way the axis as written looks like a slip of the expected one (minus form); empty if it does not."""
    weak = not at_least(abs(eye.power.cylinder or 0.0), case.limit("axis-slip", "cylinder_d"))
    near = case.limit("axis-slip", "weak_near_deg" if weak else "near_deg")
    for swapped in _digit_swaps(eye.power.axis or 0.0):
        if axis_difference(swapped, _as_written(eye, wanted)) <= near:
            return f" (with its digits swapped it reads {swapped})"
    return " (90 degrees off)" if abs(change - 90.0) <= near else ""


def _digit_swaps(axis: float) -> list[int]:
    """Axes with the same digits in another order; 8 is also read as 08."""
    digits = f"{axis:.0f}"
    padded = [digits] if len(digits) > 1 else [f"0{digits}"]
    swapped = {int("".join(order)) for text in padded for order in permutations(text)}
    return sorted(value for value in swapped if 1 <= value <= 180 and value != axis)


def _axis_against_mirror(case: Case, eye: EyeCase, axis: float, cylinder: float) -> Iterator[Finding]:
    """Used without a last prescription: most pairs of eyes are nearly mirror images, so a slip shows up there."""
    fellow = (case.left if eye.eye == "right" else case.right).power.minus_form
    if fellow.cylinder is None or fellow.axis is None:
        return
    if not at_least(min(abs(cylinder), abs(fellow.cylinder)), case.limit("axis-slip", "mirror_cylinder_d")):
        return
    mirror = 180.0 - fellow.axis
    change = axis_difference(axis, mirror)
    slip = _slip(case, eye, mirror, change) if change > case.limit("axis-slip", "mirror_deg") else ""
    if not slip:
        return
    yield Finding(
        f"The axis of the {eye.name} is {words.number(eye.power.axis or axis)}, {words.degrees(change)} from the "
        f"mirror image of the other eye's{slip}.",
        LOOK,
        eye.eye,
        change,
        case.limit("axis-slip", "mirror_deg"),
        "°",
        ("Correct the axis if it was mistyped.", CONFIRM),
        eye.at("prescription.axis"),
    )
