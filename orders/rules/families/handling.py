"""Is the order itself in order: not sent twice, due when it can be done, complete."""

from __future__ import annotations

from collections.abc import Iterator

from orders.documents.lens_order import EYES, FramePart, LensOrder, PrescribedEye
from orders.rules import dates
from orders.rules.case import Case
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
    source="Orders sent twice (common practice)",
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
            f"{days:g} days it may be the same order again. Confirm that a second pair is wanted.",
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
    """Same patient, powers and frame; a revision, or the order that this one remakes, does not count."""
    if order.number is not None and order.number == other.number and order.revision != other.revision:
        return False
    if order.number is not None and order.number == other.remake_of:
        return False
    if other.number is not None and other.number == order.remake_of:
        return False
    patient = order.patient.reference
    return (
        patient is not None
        and patient == other.patient.reference
        and _powers(order) == _powers(other)
        and _frame(order.frame) == _frame(other.frame)
    )


def _powers(order: LensOrder) -> tuple[object, ...]:
    """The lenses' powers, with absent and 0 cylinders and adds alike."""
    return tuple(_power(order.prescription.eye(eye)) for eye in EYES)


def _power(eye: PrescribedEye) -> tuple[object, ...]:
    power = WrittenPower.of(eye)
    prisms = sorted((prism.base or "", prism.amount or 0.0) for prism in power.prisms if prism.amount)
    return power.sphere, power.cylinder, power.axis if power.cylinder else None, power.add, prisms


def _frame(frame: FramePart) -> tuple[object, ...]:
    return (frame.model or "").casefold().strip(), frame.a_mm, frame.b_mm, frame.dbl_mm
