"""Is the prescription written as a prescription can be: range, step, cylinder with its axis, one cylinder form?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, is_whole, on_step
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("prescription entry").rule

RANGE = "power-step-and-range"
AS_WRITTEN = "Look at the written prescription and type the power again."


@rule(
    id=RANGE,
    number=9,
    level=("stop", "ask"),
    title="Powers within range and on the quarter-dioptre step",
    why="A power beyond all usual ones, or off the step, is nearly always a typing slip.",
)
def power_step_and_range(case: Case) -> Iterator[Finding]:
    for eye in case.both:
        for name, value in (("sphere", eye.prescribed.sphere), ("cylinder", eye.prescribed.cylinder)):
            if value is not None:
                yield from _range_of(case, eye, name, value)


def _range_of(case: Case, eye: EyeCase, name: str, value: float) -> Iterator[Finding]:
    most = case.limit(RANGE, f"{name}_max_d")
    where = eye.at(f"prescription.{name}")
    if above(abs(value), most):
        text = f"The {name} of the {eye.name} is {words.power(value)}; beyond {words.dioptres(most)} is not usual."
        remedies = (AS_WRITTEN, "If it is meant, ask the lab first and give the reason.")
        yield Finding(text, AS_WRITTEN, eye.eye, value, most, "D", remedies, where)
    elif not on_step(value, case.limit(RANGE, "step_d")):
        eighth = on_step(value, case.limit(RANGE, "fine_step_d"))
        step = case.limit(RANGE, "step_d")
        near = _neighbours(value, step)
        yield Finding(
            f"The {name} of the {eye.name} is {words.power(value)}; powers go in steps of {words.dioptres(step)}.",
            f"Confirm the eighth, or write {near}." if eighth else f"Write {near}, as prescribed.",
            eye.eye,
            value,
            step,
            "D",
            (f"Write {near}, whichever the prescription says.",),
            where,
            "ask" if eighth else "stop",
        )


def _neighbours(value: float, step: float) -> str:
    below = (value // step) * step
    return f"{words.power(below)} or {words.power(below + step)}"


@rule(
    id="cylinder-axis-pair",
    number=10,
    level=("stop", "ask"),
    title="A cylinder has its axis, and the axis is 1 to 180",
    why="A cylinder without a good axis cannot be made; a wrong axis is 11 % of what labs call back about.",
)
def cylinder_axis_pair(case: Case) -> Iterator[Finding]:
    for eye in case.both:
        cylinder, axis = eye.power.cylinder, eye.power.axis
        if cylinder is None:
            yield from _axis_alone(eye, axis)
        elif axis is None:
            text = f"The {eye.name} has a cylinder of {words.power(cylinder)} and no axis."
            remedies, where = ("Type the axis from the prescription.",), eye.at("prescription.axis")
            yield Finding(text, "Give the axis, 1 to 180.", eye.eye, None, "1 to 180", "°", remedies, where)
        elif not (1.0 <= axis <= 180.0 and is_whole(axis)):
            yield _impossible_axis(eye, axis)


def _axis_alone(eye: EyeCase, axis: float | None) -> Iterator[Finding]:
    if axis is not None:
        yield Finding(
            f"The {eye.name} has an axis of {words.number(axis)} and no cylinder.",
            "Was the cylinder left out?",
            eye.eye,
            axis,
            "no axis without a cylinder",
            "°",
            ("Type the cylinder from the prescription.", "If there is none, clear the axis."),
            eye.at("prescription.axis"),
            "ask",
        )


def _impossible_axis(eye: EyeCase, axis: float) -> Finding:
    advice = "Write 180 for 0." if axis == 0.0 else "Type the axis again from the prescription."
    return Finding(
        f"The axis of the {eye.name} is {words.number(axis)}; an axis is a whole number from 1 to 180.",
        advice,
        eye.eye,
        axis,
        "1 to 180",
        "°",
        (advice,),
        eye.at("prescription.axis"),
    )


@rule(
    id="nothing-to-correct",
    number=11,
    level="ask",
    title="Lenses that do something",
    why="Plano in both eyes and clear is more often a prescription that was never typed than a wish.",
)
def nothing_to_correct(case: Case) -> Iterator[Finding]:
    if not case.is_pair or not all(_does_nothing(eye) for eye in case.both):
        return
    yield Finding(
        "Neither eye has a power, an add or a prism, and the lenses are clear.",
        "Was the prescription typed? If they are for looks, confirm it.",
        "both",
        0.0,
        "a power, a prism or a tint",
        "D",
        ("Type the prescription.", "Confirm that they are wanted without a power."),
        "prescription.right.sphere",
    )


def _does_nothing(eye: EyeCase) -> bool:
    power, lens = eye.power, eye.lens
    filters = any(treatment.kind in ("tint", "photochromic", "polarised", "mirror") for treatment in eye.treatments)
    special = lens is not None and (lens.instruction is not None or bool((lens.colour or "").strip()))
    return power.sphere == 0.0 and not (power.cylinder or power.add or power.prism_pd or filters or special)


@rule(
    id="cylinder-sign-mixed",
    number=12,
    level="stop",
    title="Both eyes in the same cylinder form",
    why="One eye in plus and one in minus cylinder is the mark of a half-transposed or misread prescription.",
)
def cylinder_sign_mixed(case: Case) -> Iterable[Finding]:
    right, left = case.right.power.cylinder, case.left.power.cylinder
    if right is None or left is None or (right < 0.0) == (left < 0.0):
        return
    both = f"right {words.power(right)}, left {words.power(left)}"
    yield Finding(
        f"The cylinders have opposite signs ({both}).",
        "Write both eyes in one form; check the signs first.",
        "both",
        both,
        "one sign",
        "D",
        (*_transposed(case), "If a sign was mistyped, correct it from the prescription."),
        "prescription.left.cylinder",
    )


def _transposed(case: Case) -> tuple[str, ...]:
    """The eye in plus cylinder form rewritten in minus form, as a remedy that can be copied."""
    for eye in case.both:
        plus = eye.power
        if plus.cylinder is not None and plus.cylinder > 0.0 and plus.optical is not None:
            minus = plus.optical.in_minus_cylinder()
            power = f"{words.power(minus.sphere)}/{words.power(minus.cylinder)}x{words.number(minus.axis)}"
            return (f"In minus cylinder the {eye.name} reads {power}.",)
    return ()


@rule(
    id="purpose-stated",
    number=8,
    level="stop",
    title="A single vision lens is for one distance",
    why="With an add on the prescription, the lab cannot know which power a single vision lens is to have.",
)
def purpose_stated(case: Case) -> Iterator[Finding]:
    if case.order.pair_use != "distance_and_near":
        return
    for eye in case.eyes:
        if eye.kind == "single_vision" and eye.power.add is not None:
            yield Finding(
                f"The {eye.name} has a single vision lens, an add of {words.power(eye.power.add)}, and the use "
                "“distance and near”: one such lens serves one distance.",
                "Say which.",
                eye.eye,
                "distance and near",
                "one distance",
                None,
                ("State one use: distance, intermediate or near.", "Choose a multifocal lens."),
                "prescription.use",
            )


@rule(
    id="sphere-blank",
    number=11,
    level="stop",
    title="A blank sphere is not plano",
    why="An empty box may be plano, a balance lens or a figure that was forgotten.",
)
def sphere_blank(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        if eye.power.sphere is None and eye.lens is not None and eye.lens.instruction is None:
            yield Finding(
                f"The {eye.name} has no sphere.",
                "Write 0.00 if it is plano, or say that a balance lens is wanted.",
                eye.eye,
                None,
                "a sphere",
                "D",
                ("Type the sphere from the prescription; 0.00 for plano.", "Instruct a balance or occluder lens."),
                eye.at("prescription.sphere"),
                liftable=False,
            )
