"""Leaves out of an order what is private and the check does not need: whether the wearer drives, and the acuities.

A lab gets no more about a patient than its order rests on. What that is, is not guessed: a fact stays if the check says
anything else without it, so whoever checks the order that was sent finds exactly what the practice found. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import reduce

from orders.documents.lens_order import EYES, LensOrder, PatientFacts, PrescriptionPart
from orders.documents.order_report import OrderReport

KEPT_BACK = "kept_back"
"""Under ``patient.extra``: the facts that the practice knows and did not send, so that nobody asks for them again."""

Judge = Callable[[LensOrder], OrderReport]


def is_kept_back(patient: PatientFacts, fact: str) -> bool:
    """Whether the practice knows a fact that the order does not give."""
    kept = (patient.extra or {}).get(KEPT_BACK)
    return isinstance(kept, list) and fact in kept


def no_more_than_needed(order: LensOrder, found: OrderReport, judge: Judge) -> LensOrder:
    """The order with only those private facts without which ``judge`` would not say ``found``, as it does of all.

    Most orders can do without all of them, which is tried first; only of the others each fact is tried by itself.
    """
    ways = list(_private(order))
    bare = reduce(lambda now, leave_out: leave_out(now), ways, order)
    if ways and judge(bare) == found:
        return bare
    for leave_out in ways if len(ways) > 1 else ():
        less = leave_out(order)
        if judge(less) == found:
            order = less
    return order


def _private(order: LensOrder) -> Iterator[Callable[[LensOrder], LensOrder]]:
    """Ways to leave out each private fact that the order has."""
    if order.patient.driver is not None:
        yield _without_driver
    if _has_acuity(order.prescription):
        yield lambda now: now.model_copy(update={"prescription": _without_acuity(now.prescription)})
    earlier, worn = order.previous_prescription, order.patient.present_spectacles
    if earlier is not None and _has_acuity(earlier):
        yield lambda now: now.model_copy(update={"previous_prescription": _without_acuity(earlier)})
    if worn is not None and _has_acuity(worn):
        yield lambda now: _with_patient(now, present_spectacles=_without_acuity(worn))


def _without_driver(order: LensOrder) -> LensOrder:
    kept_back = {**(order.patient.extra or {}), KEPT_BACK: ["driver"]}
    return _with_patient(order, driver=None, extra=kept_back)


def _with_patient(order: LensOrder, **facts: object) -> LensOrder:
    return order.model_copy(update={"patient": order.patient.model_copy(update=facts)})


def _has_acuity(part: PrescriptionPart) -> bool:
    return any(part.eye(eye).acuity is not None for eye in EYES)


def _without_acuity(part: PrescriptionPart) -> PrescriptionPart:
    return part.model_copy(update={eye: part.eye(eye).model_copy(update={"acuity": None}) for eye in EYES})
