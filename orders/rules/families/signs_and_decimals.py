"""Have signs and decimal points stayed where they were, compared with the last prescription and between the eyes?

If there is no last prescription, the pair worn now shows the slip.

Powers are compared in minus cylinder form. Nothing is said about a change that eyes really make.
"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.optics.conventions import axis_difference
from dispensing.prescribing.slips import is_flipped, is_ten_times
from orders.documents.order_report import FindingEye
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import below, same
from orders.rules.earlier import Earlier
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
)
def sign_change(case: Case) -> Iterator[Finding]:
    yield from _sphere_signs(case)
    for eye in case.both:
        if eye.earlier is not None:
            yield from _cylinder_sign(case, eye, eye.earlier)
    yield from _antimetropia(case)


def _sphere_signs(case: Case) -> Iterator[Finding]:
    """Both signs changed are one question: either the paper was misread or both eyes drifted across zero."""
    flipped = [eye for eye in case.both if _is_sphere_flipped(case, eye)]
    if len(flipped) == 2:
        right, left = flipped
        says = f"The spheres are {_sphere(right)} right and {_sphere(left)} left; {_had(right)} and {_then(left)}."
        yield _sphere_sign(right, "both", says, "Are the signs right?")
        return
    for eye in flipped:
        yield _sphere_sign(
            eye, eye.eye, f"The sphere of the {eye.name} is {_sphere(eye)}; {_had(eye)}.", "Is the sign right?"
        )


def _is_sphere_flipped(case: Case, eye: EyeCase) -> bool:
    now, then = _minus_spheres(eye)
    if now is None or then is None or not is_flipped(now, then, case.limits):
        return False
    # A small figure with the other sign is drift about zero if the other eye moved the same way, and as far.
    small = below(abs(now - then), case.limit("sign-change", "drift_d"))
    return not (small and _moved_alike(case, eye, now - then))


def _moved_alike(case: Case, eye: EyeCase, moved: float) -> bool:
    now, then = _minus_spheres(case.left if eye.eye == "right" else case.right)
    return now is not None and then is not None and same(now - then, moved)


def _minus_spheres(eye: EyeCase) -> tuple[float | None, float | None]:
    """This eye's sphere now and before, in minus cylinder form."""
    before = eye.earlier_power
    return eye.power.minus_form.sphere, None if before is None else before.minus_form.sphere


def _sphere(eye: EyeCase) -> str:
    return words.power(eye.power.minus_form.sphere or 0.0)


def _then(eye: EyeCase) -> str:
    return words.power(_minus_spheres(eye)[1] or 0.0)


def _had(eye: EyeCase) -> str:
    return eye.earlier.had(_then(eye)) if eye.earlier else _then(eye)


def _sphere_sign(eye: EyeCase, whose: FindingEye, says: str, asks: str) -> Finding:
    now, then = _minus_spheres(eye)
    return Finding(
        says,
        f"{asks} {LOOK}",
        whose,
        now,
        then,
        "D",
        ("Correct the sign if it was mistyped.", CONFIRM),
        eye.at("prescription.sphere"),
    )


def _cylinder_sign(case: Case, eye: EyeCase, before: Earlier) -> Iterator[Finding]:
    """The same figures and axis with the opposite cylinder sign: half of a transposition."""
    now, then = eye.power, before.power
    if now.cylinder is None or then.cylinder is None or now.axis is None or then.axis is None:
        return
    turned = axis_difference(now.axis, then.axis)
    if not same(now.cylinder, -then.cylinder) or turned > case.limit("sign-change", "same_axis_deg"):
        return
    yield Finding(
        f"The cylinder of the {eye.name} is {words.power(now.cylinder)}; "
        f"{before.had(words.power(then.cylinder))} at about the same axis.",
        f"Was it only half transposed? {LOOK}",
        eye.eye,
        now.cylinder,
        then.cylinder,
        "D",
        ("Correct the sign, or turn the axis by 90 and add the cylinder to the sphere.", CONFIRM),
        eye.at("prescription.cylinder"),
    )


def _antimetropia(case: Case) -> Iterator[Finding]:
    right, left = case.right.power.minus_form.sphere, case.left.power.minus_form.sphere
    if right is None or left is None or not is_flipped(right, left, case.limits):
        return
    if _was_antimetropic(case) or _is_near_earlier(case):
        return
    both = f"right {words.power(right)}, left {words.power(left)}"
    yield Finding(
        f"One eye is plus and the other minus ({both}).",
        f"Is a sign wrong? {LOOK}",
        "both",
        both,
        "the same sign",
        "D",
        ("Correct the sign if it was mistyped.", CONFIRM),
        "prescription.left.sphere",
    )


def _was_antimetropic(case: Case) -> bool:
    spheres = [eye.earlier_power.minus_form.sphere for eye in case.both if eye.earlier_power is not None]
    known = [sphere for sphere in spheres if sphere is not None]
    return len(known) == 2 and known[0] * known[1] < 0.0


def _is_near_earlier(case: Case) -> bool:
    """Whether each eye is within drift of what it had: a sign that slipped would be farther off."""
    drift = case.limit("sign-change", "drift_d")
    for eye in case.both:
        now, then = _minus_spheres(eye)
        if now is None or then is None or not below(abs(now - then), drift):
            return False
    return True


@rule(
    id="decimal-slip",
    number=14,
    level="ask",
    title="No figure ten times too large or too small",
    why="0.25 typed for 2.50 looks like a power, and only the other eye or the last pair gives it away.",
)
def decimal_slip(case: Case) -> Iterator[Finding]:
    for name in ("sphere", "cylinder", "add"):
        found = [finding for eye in case.both for finding in _against_last(case, eye, name)]
        yield from found or _against_fellow(case, name)


def _value(power: WrittenPower | None, name: str) -> float | None:
    value: float | None = getattr(power, name) if power is not None else None
    return value or None


def _against_last(case: Case, eye: EyeCase, name: str) -> Iterator[Finding]:
    before = eye.earlier
    now, then = _value(eye.power, name), _value(eye.earlier_power, name)
    if before is None or now is None or then is None or abs(now - then) < case.limit("decimal-slip", "apart_d"):
        return
    if name == "sphere" and _is_as_in_the_other_form(case, eye):
        return
    near = case.limit("decimal-slip", "near_d")
    meant = next((v for v in (now * 10.0, now / 10.0) if abs(v - then) <= near), None)
    if meant is None:
        return
    # Ten times a figure with two decimal places is less exact: 3.25 written as 0.33 comes back as 3.30.
    power = _as_prescribed(case, name, meant, slack_d=0.0501 if abs(meant) > abs(now) else 1e-6)
    asked = "Did a decimal point slip?" if power is None else f"Was {words.power(power)} meant?"
    written = "the power as prescribed" if power is None else words.power(power)
    yield Finding(
        f"The {name} of the {eye.name} is {words.power(now)}; {before.had(words.power(then))}.",
        f"{asked} {LOOK}",
        eye.eye,
        now,
        then,
        "D",
        (f"Write {written} if the decimal point slipped.", CONFIRM),
        eye.at(f"prescription.{name}"),
    )


def _is_as_in_the_other_form(case: Case, eye: EyeCase) -> bool:
    """Whether the sphere is about the same as last time once both are written with the same cylinder sign."""
    now, then = eye.power, eye.earlier_power
    if then is None or now.cylinder is None or then.cylinder is None or now.cylinder * then.cylinder > 0.0:
        return False
    first, second = now.minus_form.sphere, then.minus_form.sphere
    return first is not None and second is not None and abs(first - second) < case.limit("decimal-slip", "apart_d")


def _as_prescribed(case: Case, name: str, meant: float, *, slack_d: float) -> float | None:
    """The power on a whole step, in range, and within the slack of the one meant; None if there is none."""
    if name == "add":
        least, most, step = (case.limit("add-range", limit) for limit in ("least_d", "most_d", "step_d"))
    else:
        least, most = 0.0, case.limit("power-step-and-range", f"{name}_max_d")
        step = case.limit("power-step-and-range", "step_d")
    power = round(meant / step) * step
    return power if power and abs(power - meant) < slack_d and least <= abs(power) <= most else None


def _against_fellow(case: Case, name: str) -> Iterator[Finding]:
    right, left = _value(case.right.power, name), _value(case.left.power, name)
    if right is None or left is None or not is_ten_times(right, left, case.limits):
        return
    if all(_is_as_last_time(case, eye, name) for eye in case.both):
        return
    both = f"right {words.power(right)}, left {words.power(left)}"
    yield Finding(
        f"One {name} is ten times the other ({both}).",
        f"Did a decimal point slip? {LOOK}",
        "both",
        both,
        "less than ten times",
        "D",
        ("Correct the figure whose decimal point slipped.", CONFIRM),
        f"prescription.{'right' if abs(right) < abs(left) else 'left'}.{name}",
    )


def _is_as_last_time(case: Case, eye: EyeCase, name: str) -> bool:
    now, then = _value(eye.power, name), _value(eye.earlier_power, name)
    return now is not None and then is not None and abs(now - then) < case.limit("decimal-slip", "apart_d")
