"""Is the order itself in order: not sent twice, due on a day that can be met, and complete?"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from orders.documents.lens_order import EYES, FramePart, LensOrder, PrescribedEye, PrescriptionPart
from orders.rules import dates
from orders.rules.case import Case
from orders.rules.compare import at_least
from orders.rules.finding import Finding
from orders.rules.powers import WrittenPower
from orders.rules.registry import Family

rule = Family("order handling").rule


@rule(
    id="duplicate-order",
    number=112,
    level="ask",
    title="Not the same order again",
    why="A pair sent twice is made twice.",
)
def duplicate_order(case: Case) -> Iterator[Finding]:
    days = case.limit("duplicate-order", "within_days")
    for other in case.others:
        if not _is_same_job(case.order, other):
            continue
        apart = _days_apart(case.order, other)
        if apart is None or apart > days:
            continue
        number = other.number or "without a number"
        when = f" of {dates.written(other.ordered_on)}" if other.ordered_on else ""
        yield Finding(
            f"Order {number}{when} is for the same patient, prescription and frame, {apart} days apart; within "
            f"{days:g} days it may be the same order again.",
            "Confirm that a second pair is wanted.",
            None,
            float(apart),
            days,
            "days",
            ("Cancel one of the two if it was sent twice.", "Confirm if the patient wants two alike."),
            "number",
        )


def _days_apart(order: LensOrder, other: LensOrder) -> int | None:
    if order.ordered_on is None or other.ordered_on is None:
        return None
    return abs((order.ordered_on - other.ordered_on).days)


def _is_same_job(order: LensOrder, other: LensOrder) -> bool:
    """Whether patient, powers and frame are the same, and for the same use; a revision or a remake does not count."""
    if order.number is not None and order.number == other.number and order.revision != other.revision:
        return False
    if order.number is not None and order.number == other.remake_of:
        return False
    if other.number is not None and other.number == order.remake_of:
        return False
    if order.pair_use and other.pair_use and order.pair_use != other.pair_use:
        return False
    patient = order.patient.reference
    return (
        patient is not None
        and patient == other.patient.reference
        and powers_of(order.prescription) == powers_of(other.prescription)
        and _frame(order.frame) == _frame(other.frame)
    )


def powers_of(prescription: PrescriptionPart) -> tuple[object, ...]:
    """The powers of both eyes, treating a cylinder or add of 0 like an absent one."""
    return tuple(_power(prescription.eye(eye)) for eye in EYES)


def _power(eye: PrescribedEye) -> tuple[object, ...]:
    power = WrittenPower.of(eye)
    prisms = sorted((prism.base or "", prism.amount or 0.0) for prism in power.prisms if prism.amount)
    return power.sphere, power.cylinder, power.axis if power.cylinder else None, power.add, prisms


def _frame(frame: FramePart) -> tuple[object, ...]:
    return (frame.model or "").casefold().strip(), frame.a_mm, frame.b_mm, frame.dbl_mm


@rule(
    id="promise-date",
    number=111,
    level="ask",
    title="The date wanted can be met",
    why="A promise that no lab can keep disappoints twice: on the day, and at the call to say so.",
)
def promise_date(case: Case) -> Iterator[Finding]:
    ordered, needed = case.order.ordered_on, case.order.needed_on
    if ordered is None or needed is None or needed < ordered:
        return
    latest = case.limit("promise-date", "latest_days")
    if (needed - ordered).days > latest:
        yield _far_off(needed, ordered, latest)
        return
    least, what = norm_days(case)
    given = dates.working_days_between(ordered, needed)
    if given >= least:
        return
    yield Finding(
        f"The order is wanted on {dates.written(needed)}, {given} working days after {dates.written(ordered)}; "
        f"{what} usually take at least {least:g}.",
        "Ask the lab for an express job, or promise a later day.",
        None,
        float(given),
        least,
        "working days",
        ("Promise a later day.", "Ask the lab for an express job."),
        "needed_on",
    )


def _far_off(needed: date, ordered: date, latest: float) -> Finding:
    days = (needed - ordered).days
    sooner = dates.year_meant(needed, ordered)
    return Finding(
        f"The order is wanted on {dates.written(needed)}, {days} days after {dates.written(ordered)}.",
        f"Give the day that was promised{f': {dates.written(sooner)}' if sooner else ''}, or confirm it.",
        None,
        float(days),
        latest,
        "days",
        ("Correct the year.", "Confirm that the pair is wanted so late."),
        "needed_on",
    )


def norm_days(case: Case) -> tuple[float, str]:
    """The fewest working days that the slowest part of the job usually takes, and what that part is."""
    kinds = {treatment.kind for eye in case.eyes for treatment in eye.treatments}
    curve, wrapped = case.order.frame.front_curve_d, case.limit("wrap-base", "frame_curve_d")
    if kinds & {"tint", "polarised", "mirror"} or (curve is not None and at_least(curve, wrapped)):
        return case.limit("promise-date", "special_days"), "tinted and wrapped lenses"
    if any(eye.is_multifocal for eye in case.eyes):
        return case.limit("promise-date", "multifocal_days"), "multifocal lenses"
    return case.limit("promise-date", "single_vision_days"), "single vision lenses"


@rule(
    id="second-pair-heights",
    number=113,
    level="stop",
    title="A second frame has its own heights",
    why="Heights belong to a frame: copied from the first pair, they are wrong in the second.",
)
def second_pair_heights(case: Case) -> Iterator[Finding]:
    order = case.order
    heights = _heights(order)
    if order.fitting.measured_in_this_frame is True or None in heights or order.patient.reference is None:
        return
    for other in case.others:
        if other.patient.reference != order.patient.reference or _frame(other.frame) == _frame(order.frame):
            continue
        if _heights(other) == heights and other.number != order.number:
            number = other.number or "without a number"
            yield Finding(
                f"The heights are those of order {number}, which has another frame.",
                "Measure them in this frame.",
                None,
                f"heights of order {number}",
                "heights in this frame",
                "mm",
                ("Measure the heights in this frame.",),
                "fitting.right.height_mm",
            )


def _heights(order: LensOrder) -> tuple[float | None, float | None]:
    return order.fitting.right.height_mm, order.fitting.left.height_mm
