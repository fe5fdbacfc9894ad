"""Is the PD still that of the same person: against the patient's other orders."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from orders.documents.lens_order import LensOrder
from orders.documents.order_report import FindingEye
from orders.rules import words
from orders.rules.case import Case
from orders.rules.compare import above, at_least
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("pupil distances").rule

RECORD = "pd-as-recorded"
MEASURE_AGAIN = "Measure both eyes again, each from the middle of the bridge."
CONFIRM = "Confirm if it was measured with care this time."


@rule(
    id=RECORD,
    number=34,
    level="ask",
    title="The PD of an adult as in an earlier order",
    why="An adult's PD stays: another one is a misreading, the eyes exchanged, the near PD, or another person's.",
)
def pd_as_recorded(case: Case) -> Iterator[Finding]:
    if case.age is not None and case.age < case.limit(RECORD, "from_years"):
        return
    now, then = _pds(case.order), _last_recorded(case)
    if now is None or then is None:
        return
    yield from _exchanged(case, now, then) or _changed(case, now, then)


@dataclass(frozen=True)
class _Recorded:
    """The PDs of an order, mm."""

    right: float
    left: float
    number: str

    @property
    def both(self) -> float:
        return self.right + self.left

    def __str__(self) -> str:
        return f"right {words.mm(self.right)} and left {words.mm(self.left)}"


def _pds(order: LensOrder) -> _Recorded | None:
    right, left = order.fitting.right.pd_mm, order.fitting.left.pd_mm
    if right is None or left is None:
        return None
    return _Recorded(right, left, order.number or "without a number")


def _last_recorded(case: Case) -> _Recorded | None:
    """Of the patient's last other order; neither a revision of this one, nor the one that this one remakes."""
    order, found = case.order, list[tuple[date, _Recorded]]()
    if order.patient.reference is None:
        return None
    for other in case.others:
        pds, same_patient = _pds(other), other.patient.reference == order.patient.reference
        own = other.number is not None and other.number in (order.number, order.remake_of)
        if pds is not None and same_patient and not own:
            found.append((other.ordered_on or date.min, pds))
    return max(found, key=lambda pair: pair[0])[1] if found else None


def _exchanged(case: Case, now: _Recorded, then: _Recorded) -> list[Finding]:
    """Both times one eye clearly farther out, and now it is the other one."""
    least = case.limit(RECORD, "uneven_mm")
    uneven, before = now.right - now.left, then.right - then.left
    if uneven * before >= 0.0 or not at_least(min(abs(uneven), abs(before)), least):
        return []
    advice = "Were right and left exchanged?"
    return [_finding("both", now, then, uneven, before, "fitting.right.pd_mm", advice)]


def _changed(case: Case, now: _Recorded, then: _Recorded) -> list[Finding]:
    most = case.limit(RECORD, "difference_mm")
    if above(abs(now.both - then.both), most):
        near = case.limit("near-pd", "least_difference_mm"), case.limit("near-pd", "most_difference_mm")
        looks_near = at_least(then.both - now.both, near[0]) and not above(then.both - now.both, near[1])
        advice = "Is it the near PD? Measure again." if looks_near else "Measure again."
        return [_finding("both", now, then, now.both, then.both, "fitting.right.pd_mm", advice)]
    sides: tuple[tuple[FindingEye, float, float], ...] = (
        ("right", now.right, then.right),
        ("left", now.left, then.left),
    )
    return [
        _finding(eye, now, then, own, before, f"fitting.{eye}.pd_mm", "Was the bridge in the middle? Measure again.")
        for eye, own, before in sides
        if above(abs(own - before), most)
    ]


def _finding(
    eye: FindingEye, now: _Recorded, then: _Recorded, found: float, limit: float, field: str, advice: str
) -> Finding:
    return Finding(
        f"The PDs are {now}; order {then.number} has {then}.",
        advice,
        eye,
        found,
        limit,
        "mm",
        (MEASURE_AGAIN, CONFIRM),
        field,
    )
