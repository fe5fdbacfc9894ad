"""Does the prescription fit the last one and itself: signs, decimals, axes, eyes exchanged, large changes.

Compared in minus cylinder form and, where powers are weighed against each other, as power vectors. Quiet where
the change is one that eyes make.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import permutations

from dispensing.optics.conventions import axis_difference
from dispensing.optics.power import SphereCylinder, residual_cylinder
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least, same
from orders.rules.finding import Finding
from orders.rules.powers import WrittenPower
from orders.rules.registry import Family

rule = Family("prescription changes").rule

LOOK = "Look at the written prescription again."
CONFIRM = "Confirm if it is as prescribed."


@rule(
    id="sign-change",
    number=13,
    level="ask",
    title="Plus and minus as last time, and alike in both eyes",
    why="A lost or changed sign is 11 % of what labs call back about.",
    source="Pacific University survey of optometrists and labs, 1992",
)
def sign_change(case: Case) -> Iterator[Finding]:
    for eye in case.both:
        before = eye.previous_power
        if before is not None:
            yield from _sphere_sign(case, eye, before)
            yield from _cylinder_sign(eye, before)
    yield from _antimetropia(case)


def _sphere_sign(case: Case, eye: EyeCase, before: WrittenPower) -> Iterator[Finding]:
    now, then = eye.power.minus_form.sphere, before.minus_form.sphere
    if now is None or then is None or not _flipped(case, now, then):
        return
    yield Finding(
        f"The sphere of the {eye.name} is {words.power(now)}; last time it was {words.power(then)}. "
        f"Is the sign right? {LOOK}",
        eye.eye,
        now,
        then,
        "D",
        ("Correct the sign if it was mistyped.", CONFIRM),
        eye.at("prescription.sphere"),
    )


def _flipped(case: Case, now: float, then: float) -> bool:
    """Opposite signs, and either the same figure or a step too large to be drift about zero."""
    drift = case.limit("sign-change", "drift_d")
    return now * then < 0.0 and (same(now, -then) or at_least(abs(now - then), drift))


def _cylinder_sign(eye: EyeCase, before: WrittenPower) -> Iterator[Finding]:
    """The same figures and axis with the other cylinder sign: one half of a transposition."""
    now, then = eye.power, before
    if now.cylinder is None or then.cylinder is None or now.axis is None or then.axis is None:
        return
    if not same(now.cylinder, -then.cylinder) or axis_difference(now.axis, then.axis) > 5.0:
        return
    yield Finding(
        f"The cylinder of the {eye.name} is {words.power(now.cylinder)}; last time it was {words.power(then.cylinder)} "
        f"at about the same axis. Was it only half transposed? {LOOK}",
        eye.eye,
        now.cylinder,
        then.cylinder,
        "D",
        ("Correct the sign, or turn the axis by 90 and add the cylinder to the sphere.", CONFIRM),
        eye.at("prescription.cylinder"),
    )


def _antimetropia(case: Case) -> Iterator[Finding]:
    right, left = case.right.power.minus_form.sphere, case.left.power.minus_form.sphere
    if right is None or left is None or not _flipped(case, right, left) or _was_antimetropic(case):
        return
    both = f"right {words.power(right)}, left {words.power(left)}"
    yield Finding(
        f"One eye is plus and the other minus ({both}). Is a sign wrong? {LOOK}",
        "both",
        both,
        "the same sign",
        "D",
        ("Correct the sign if it was mistyped.", CONFIRM),
        "prescription.left.sphere",
    )


def _was_antimetropic(case: Case) -> bool:
    spheres = [eye.previous_power.minus_form.sphere for eye in case.both if eye.previous_power is not None]
    known = [sphere for sphere in spheres if sphere is not None]
    return len(known) == 2 and known[0] * known[1] < 0.0


@rule(
    id="decimal-slip",
    number=14,
    level="ask",
    title="No figure ten times too large or too small",
    why="0.25 typed for 2.50 looks like a power, and only the other eye or the last pair gives it away.",
    source="Typing slips in prescriptions (common practice)",
)
def decimal_slip(case: Case) -> Iterator[Finding]:
    for name in ("sphere", "cylinder", "add"):
        found = [finding for eye in case.both for finding in _against_last(case, eye, name)]
        yield from found or _against_fellow(case, name)


def _value(power: WrittenPower | None, name: str) -> float | None:
    value: float | None = getattr(power, name) if power is not None else None
    return value or None


def _against_last(case: Case, eye: EyeCase, name: str) -> Iterator[Finding]:
    now, then = _value(eye.power, name), _value(eye.previous_power, name)
    if now is None or then is None or abs(now - then) < case.limit("decimal-slip", "apart_d"):
        return
    meant = next((v for v in (now * 10.0, now / 10.0) if abs(v - then) <= case.limit("decimal-slip", "near_d")), None)
    if meant is None:
        return
    yield Finding(
        f"The {name} of the {eye.name} is {words.power(now)}; last time it was {words.power(then)}. Was "
        f"{words.power(meant)} meant? {LOOK}",
        eye.eye,
        now,
        then,
        "D",
        (f"Write {words.power(meant)} if the decimal point slipped.", CONFIRM),
        eye.at(f"prescription.{name}"),
    )


def _against_fellow(case: Case, name: str) -> Iterator[Finding]:
    right, left = _value(case.right.power, name), _value(case.left.power, name)
    if right is None or left is None or not 9.5 <= max(right / left, left / right) <= 10.5:
        return
    if all(_is_as_last_time(case, eye, name) for eye in case.both):
        return
    both = f"right {words.power(right)}, left {words.power(left)}"
    yield Finding(
        f"One {name} is ten times the other ({both}). Did a decimal point slip? {LOOK}",
        "both",
        both,
        "less than ten times",
        "D",
        ("Correct the figure whose decimal point slipped.", CONFIRM),
        f"prescription.{'right' if abs(right) < abs(left) else 'left'}.{name}",
    )


def _is_as_last_time(case: Case, eye: EyeCase, name: str) -> bool:
    now, then = _value(eye.power, name), _value(eye.previous_power, name)
    return now is not None and then is not None and abs(now - then) < case.limit("decimal-slip", "apart_d")


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


@rule(
    id="eyes-exchanged",
    number=17,
    level="ask",
    title="Right and left not exchanged",
    why="Each eye's power may look sound and still stand on the wrong side.",
    source="Distance between power vectors: Thibos, Wheeler and Horner, Optometry and Vision Science 74, 1997",
)
def eyes_exchanged(case: Case) -> Iterator[Finding]:
    now = [eye.power.optical for eye in case.both]
    then = [eye.previous_power.optical if eye.previous_power else None for eye in case.both]
    if now[0] is None or now[1] is None or then[0] is None or then[1] is None:
        return
    as_written = _apart(now[0], then[0], now[1], then[1])
    exchanged = _apart(now[0], then[1], now[1], then[0])
    if as_written < case.limit("eyes-exchanged", "apart_d") or exchanged > as_written * 0.6:
        return
    yield Finding(
        f"Exchanged, the two eyes would fit the last prescription much better ({words.dioptres(exchanged)} apart "
        f"instead of {words.dioptres(as_written)}). Are right and left exchanged? {LOOK}",
        "both",
        as_written,
        exchanged,
        "D",
        ("Exchange the two eyes if they were copied crosswise.", CONFIRM),
        "prescription.right.sphere",
    )


def _apart(first: SphereCylinder, second: SphereCylinder, third: SphereCylinder, fourth: SphereCylinder) -> float:
    return math.hypot(first.distance_to(second), third.distance_to(fourth))


@rule(
    id="eyes-identical",
    number=18,
    level="ask",
    title="Both eyes not copied from one",
    why="Two eyes alike to the axis are rare; one column was probably copied.",
    source="Copied columns (common practice)",
)
def eyes_identical(case: Case) -> Iterator[Finding]:
    least = case.limit("eyes-identical", "cylinder_d")
    right, left = case.right.power, case.left.power
    if right.cylinder is None or not at_least(abs(right.cylinder), least) or not _alike(right, left):
        return
    before = [eye.previous_power for eye in case.both]
    if before[0] is not None and before[1] is not None and _alike(before[0], before[1]):
        return
    yield Finding(
        f"Both eyes have the same sphere, cylinder and axis ({words.number(right.axis or 0.0)}). Was one copied to the "
        f"other? {LOOK}",
        "both",
        right.axis,
        "two different eyes",
        "°",
        ("Type the other eye from the prescription.", CONFIRM),
        "prescription.left.axis",
    )


def _alike(first: WrittenPower, second: WrittenPower) -> bool:
    def figures(power: WrittenPower) -> tuple[object, ...]:
        return power.sphere, power.cylinder, power.axis, power.add, power.prisms

    return first.sphere is not None and first.axis is not None and figures(first) == figures(second)


@rule(
    id="large-change",
    number=19,
    level="ask",
    title="Large changes are meant, and explained to the wearer",
    why="Changes of cylinder are behind 38 % of prescription-related complaints; older people fall in new lenses.",
    source="Beesley, Davey and Elliott, Ophthalmic and Physiological Optics, 2022",
)
def large_change(case: Case) -> Iterator[Finding]:
    for eye in case.both:
        changes = _changes(case, eye)
        if not changes:
            continue
        amount, limit, unit, _, key = changes[0]
        told = words.listed(text for _, _, _, text, _ in changes)
        elder = case.age is not None and case.age >= case.limit("large-change", "elder_years")
        care = " At this age a large change is a risk of falls: show it first." if elder else ""
        yield Finding(
            f"The {eye.name} changed much since the last prescription: {told}.{care} Confirm, and tell the wearer what "
            "to expect.",
            eye.eye,
            amount,
            limit,
            unit,
            ("Show the change to the wearer first.", "Ask the prescriber if it is not explained.", CONFIRM),
            eye.at(f"prescription.{key}"),
        )


Change = tuple[float, float, str, str, str]


def _changes(case: Case, eye: EyeCase) -> list[Change]:
    """Amount, limit, unit, words and key of each large change of this eye."""
    now, then = eye.power.minus_form, eye.previous_power.minus_form if eye.previous_power else None
    if then is None:
        return []
    found: list[Change] = []
    if now.mean_sphere is not None and then.mean_sphere is not None:
        found += _larger(case, "mean_sphere_d", now.mean_sphere - then.mean_sphere, "the mean sphere by", "sphere")
        found += _cylinder_changes(case, now, then)
    if now.add is not None and then.add is not None:
        found += _larger(case, "add_d", now.add - then.add, "the add by", "add")
    return found + _prism_changes(case, now, then)


def _larger(case: Case, name: str, change: float, what: str, key: str) -> list[Change]:
    limit = case.limit("large-change", name)
    if not at_least(abs(change), limit):
        return []
    return [(abs(change), limit, "D", f"{what} {words.power(change)}", key)]


def _cylinder_changes(case: Case, now: WrittenPower, then: WrittenPower) -> list[Change]:
    """More or less cylinder; or as much at another, oblique axis."""
    size = _larger(
        case, "cylinder_d", abs(now.cylinder or 0.0) - abs(then.cylinder or 0.0), "the cylinder by", "cylinder"
    )
    if size or now.optical is None or then.optical is None or now.cylinder is None or then.cylinder is None:
        return size
    limit = case.limit("large-change", "cylinder_d")
    new, old = now.optical.vector(), then.optical.vector()
    crossed = 2.0 * math.hypot(new.j0 - old.j0, new.j45 - old.j45)
    if not at_least(crossed, limit) or not (_is_oblique(now.axis) or _is_oblique(then.axis)):
        return []
    return [(crossed, limit, "D", f"its oblique cylinder by {words.dioptres(crossed)}", "axis")]


def _is_oblique(axis: float | None) -> bool:
    return axis is not None and 30.0 <= axis % 90.0 <= 60.0


def _prism_changes(case: Case, now: WrittenPower, then: WrittenPower) -> list[Change]:
    new, old = now.prism_pd, then.prism_pd
    least = case.limit("large-change", "prism_pd")
    if at_least(new, least) and old == 0.0:
        return [(new, 0.0, "Δ", f"{words.prism(new)} of new prism", "prism")]
    if at_least(old, least) and new == 0.0:
        return [(0.0, old, "Δ", f"the prism of {words.prism(old)} is gone", "prism")]
    return []
