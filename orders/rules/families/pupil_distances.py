"""Are the pupil distances there, do they agree with each other, and can they be those of this person?"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.trade.pupil_distances import looks_like_one_eye, possible_pd, usual_convergence, usual_pd
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least, outside
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("pupil distances").rule

MEASURE_AGAIN = "Measure both eyes again, each from the middle of the bridge."


@rule(
    id="monocular-pd-needed",
    number=30,
    level="stop",
    title="A monocular PD where the lens needs one",
    why="Four adults in five have unequal monocular distances; half a binocular PD puts such lenses off centre.",
)
def monocular_pd_needed(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        measured = eye.fitted.pd_mm is not None or eye.made.pd_by == "near_measured"
        reason = None if measured else _why_monocular(case, eye)
        if reason:
            yield Finding(
                f"The {eye.name} has no monocular PD; {reason} needs one.",
                "Measure it from the middle of the bridge.",
                eye.eye,
                None,
                "a monocular PD",
                "mm",
                ("Measure the monocular PD.",),
                eye.at("fitting.pd_mm"),
            )


def _why_monocular(case: Case, eye: EyeCase) -> str | None:
    """Why half the binocular PD will not do for this eye; None if it will."""
    fitting, strong = case.order.fitting, case.limit("monocular-pd-needed", "power_d")
    wrap = case.limit("monocular-pd-needed", "face_form_deg")
    if eye.has_cross:
        return f"a {eye.kind_words} lens"
    if eye.made_power.strongest_d is not None and at_least(eye.made_power.strongest_d, strong):
        return f"a lens of {words.dioptres(strong)} or more"
    if fitting.face_form_deg is not None and above(fitting.face_form_deg, wrap):
        return "a wrapped frame"
    if eye.made_power.prism_pd:
        return "a lens with prism"
    if _is_uneven(case, eye):
        return "a pair of uneven PDs"
    return "an order without a binocular PD" if fitting.binocular_pd_mm is None else None


def _is_uneven(case: Case, eye: EyeCase) -> bool:
    """Whether the other eye's PD is not half the binocular PD, so that this eye's is not half of it either."""
    fellow = case.left if eye.eye == "right" else case.right
    binocular, other = case.order.fitting.binocular_pd_mm, fellow.fitted.pd_mm
    if binocular is None or other is None:
        return False
    return at_least(abs(binocular / 2.0 - other), case.limit("monocular-pd-needed", "uneven_mm"))


@rule(
    id="pd-sum",
    number=31,
    level="stop",
    title="The monocular PDs add up to the binocular one",
    why="If they do not, one of the three was misread or mistyped, and there is no telling which.",
)
def pd_sum(case: Case) -> Iterator[Finding]:
    total, binocular = case.monocular_sum_mm, case.order.fitting.binocular_pd_mm
    allowed = case.limit("pd-sum", "difference_mm")
    if total is None or binocular is None or not at_least(abs(total - binocular), allowed):
        return
    right, left = case.right.fitted.pd_mm or 0.0, case.left.fitted.pd_mm or 0.0
    yield Finding(
        f"Right {words.mm(right)} and left {words.mm(left)} make {words.mm(total)}, but the binocular PD is "
        f"{words.mm(binocular)}; they must agree to less than {words.mm(allowed)}.",
        MEASURE_AGAIN,
        "both",
        abs(total - binocular),
        allowed,
        "mm",
        (MEASURE_AGAIN, "Correct the figure that was mistyped."),
        "fitting.binocular_pd_mm",
    )


@rule(
    id="pd-range",
    number=32,
    level=("stop", "ask"),
    title="A PD that a person of this age can have",
    why="Nearly everybody of an age lies within a band; outside it a monocular or near PD is often in the wrong box.",
)
def pd_range(case: Case) -> Iterator[Finding]:
    pd = case.binocular_pd_mm
    if pd is None:
        return
    usual, possible = usual_pd(case.limits, case.age), possible_pd(case.limits, case.age)
    low, high, least, most = usual.low, usual.high, possible.low, possible.high
    if not outside(pd, low, high):
        return
    stops = outside(pd, least, most)
    bound = low if pd < low else high
    if stops:
        bound = min(low, least) if pd < low else max(high, most)
    advice = _pd_advice(case, pd)
    beyond = f"; {words.mm(bound)} is the {'least' if pd < low else 'most'} taken" if bound not in (low, high) else ""
    yield Finding(
        f"The PD is {words.mm(pd)}; {usual.who} have {words.mm(low)} to {words.mm(high)}{beyond}.",
        advice,
        "both",
        pd,
        bound,
        "mm",
        (advice,),
        "fitting.binocular_pd_mm" if case.monocular_sum_mm is None else "fitting.right.pd_mm",
        "stop" if stops else "ask",
    )


def _pd_advice(case: Case, pd: float) -> str:
    if looks_like_one_eye(pd, case.limits, case.age):
        return "This looks like the PD of one eye: give the sum of both as the binocular PD."
    return MEASURE_AGAIN


@rule(
    id="near-pd",
    number=35,
    level=("stop", "ask"),
    title="A near PD that goes with the far one",
    why="Eyes turn in to read: a near PD as large as the far one, or far from it, is in the wrong box or misread.",
)
def near_pd(case: Case) -> Iterator[Finding]:
    reversed_eyes = [eye for eye in case.eyes if _near_not_less(eye)]
    for eye in reversed_eyes:
        far, near = eye.fitted.pd_mm or 0.0, eye.fitted.near_pd_mm or 0.0
        yield Finding(
            f"The near PD of the {eye.name} is {words.mm(near)} and the far PD {words.mm(far)}; the near PD must "
            "be less.",
            "Are the two exchanged?",
            eye.eye,
            near,
            far,
            "mm",
            ("Exchange the two if they stand in each other's place.", *_worked_out(eye)),
            eye.at("fitting.near_pd_mm"),
        )
    if not reversed_eyes:
        yield from _near_difference(case)


def _near_not_less(eye: EyeCase) -> bool:
    far, near = eye.fitted.pd_mm, eye.fitted.near_pd_mm
    return far is not None and near is not None and at_least(near, far)


def _near_difference(case: Case) -> Iterator[Finding]:
    """The difference between far and near PD, for the eyes that have both, against the usual one at this distance."""
    pairs = [(eye.fitted.pd_mm, eye.fitted.near_pd_mm) for eye in case.eyes]
    given = [(far, far - near) for far, near in pairs if far is not None and near is not None]
    if not given:
        return
    far, difference = sum(pd for pd, _ in given), sum(less for _, less in given)
    usual = usual_convergence(far, case.limits, case.order.fitting.near_distance_mm)
    if not outside(difference, usual.low, usual.high):
        return
    yield Finding(
        f"Far and near PD differ by {words.mm(difference)}; with a far PD of {words.mm(far)}, {words.mm(usual.low)} to "
        f"{words.mm(usual.high)} is usual at this distance.",
        "Measure the near PD again, or leave it out.",
        case.pair_or_eye,
        difference,
        usual.low if difference < usual.low else usual.high,
        "mm",
        ("Measure the near PD again at the working distance.", *_worked_out(*case.eyes)),
        f"fitting.{case.eyes[0].eye}.near_pd_mm",
        "ask",
    )


def _worked_out(*eyes: EyeCase) -> tuple[str, ...]:
    figures = [(eye.eye, eye.figures.near_pd_mm) for eye in eyes]
    known = [f"{name} {words.mm(round(value, 1))}" for name, value in figures if value is not None]
    return (f"Worked out from far PD, working distance and power: {words.listed(known)}.",) if known else ()


@rule(
    id="pd-asymmetry",
    number=33,
    level="ask",
    title="Right and left PD nearly alike",
    why="Large differences are rare; a bent bridge, a frame off centre or a misreading is likelier.",
)
def pd_asymmetry(case: Case) -> Iterator[Finding]:
    right, left = case.right.fitted.pd_mm, case.left.fitted.pd_mm
    if right is None or left is None:
        return
    difference, most = abs(right - left), case.limit("pd-asymmetry", "difference_mm")
    if not above(difference, most):
        return
    great = above(difference, case.limit("pd-asymmetry", "repeat_mm"))
    advice = "Measure both again." if great else "Look whether the nose or the frame is off centre, and confirm."
    yield Finding(
        f"The monocular PDs differ by {words.mm(difference)} (right {words.mm(right)}, left {words.mm(left)}); up "
        f"to {words.mm(most)} is usual.",
        advice,
        "both",
        difference,
        most,
        "mm",
        (MEASURE_AGAIN, "Confirm if nose or face is asymmetric."),
        "fitting.right.pd_mm",
    )
