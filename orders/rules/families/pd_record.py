"""Is the PD still that of the same person? It is compared with the patient's other orders."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from dispensing.trade.pupil_distances import usual_convergence
from orders.documents.lens_order import LensOrder
from orders.documents.order_report import FindingEye
from orders.rules import words
from orders.rules.case import Case
from orders.rules.compare import above, at_least, outside
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
    why="An adult's PD grows by a millimetre in ten years at most: more is a misreading, the near PD, or another's.",
)
def pd_as_recorded(case: Case) -> Iterator[Finding]:
    if _is_still_growing(case, case.age):
        return
    now, then = _pds(case.order), _last_recorded(case)
    if now is None or then is None:
        return
    yield from _exchanged(case, now, then) or _changed(case, now, then)


@dataclass(frozen=True)
class _Recorded:
    """The PDs of an order in mm, the date it was placed, and how old the wearer was."""

    right: float
    left: float
    number: str
    on: date | None
    age: int | None

    @property
    def both(self) -> float:
        return self.right + self.left

    def __str__(self) -> str:
        return f"right {words.mm(self.right)} and left {words.mm(self.left)}"


def _pds(order: LensOrder) -> _Recorded | None:
    right, left = order.fitting.right.pd_mm, order.fitting.left.pd_mm
    if right is None or left is None:
        return None
    return _Recorded(right, left, order.number or "without a number", order.ordered_on, order.wearer_age)


def _last_recorded(case: Case) -> _Recorded | None:
    """The PDs of the patient's last other order, but not of a revision of this one or of the one it remakes."""
    order, found = case.order, list[_Recorded]()
    if order.patient.reference is None:
        return None
    for other in case.others:
        pds, same_patient = _pds(other), other.patient.reference == order.patient.reference
        own = other.number is not None and other.number in (order.number, order.remake_of)
        if pds is not None and same_patient and not own:
            found.append(pds)
    last = max(found, key=lambda recorded: recorded.on or date.min, default=None)
    return None if last is None or _is_still_growing(case, last.age) else last


def _is_still_growing(case: Case, age: int | None) -> bool:
    return age is not None and age < case.limit(RECORD, "from_years")


def _years_between(now: _Recorded, then: _Recorded) -> float:
    """The years between the two orders; 0 if either day is not known."""
    return 0.0 if now.on is None or then.on is None else max(0, (now.on - then.on).days) / 365.25


def _exchanged(case: Case, now: _Recorded, then: _Recorded) -> list[Finding]:
    """Both times one eye was clearly farther out, and now it is the other eye."""
    least = case.limit(RECORD, "uneven_mm")
    uneven, before = now.right - now.left, then.right - then.left
    if uneven * before >= 0.0 or not at_least(min(abs(uneven), abs(before)), least):
        return []
    advice = "Were right and left exchanged?"
    return [_finding("both", now, then, uneven, before, "fitting.right.pd_mm", advice)]


def _changed(case: Case, now: _Recorded, then: _Recorded) -> list[Finding]:
    # Growth over the years for both eyes together; half of it is for each eye.
    growth = case.limit(RECORD, "a_year_mm") * _years_between(now, then)
    most = case.limit(RECORD, "difference_mm")
    if above(abs(now.both - then.both), most + growth):
        near = usual_convergence(then.both, case.limits)
        looks_near = not outside(then.both - now.both, near.low, near.high)
        advice = "Is it the near PD? Measure again." if looks_near else "Measure again."
        return [_finding("both", now, then, now.both, then.both, "fitting.right.pd_mm", advice)]
    sides: tuple[tuple[FindingEye, float, float], ...] = (
        ("right", now.right, then.right),
        ("left", now.left, then.left),
    )
    return [
        _finding(eye, now, then, own, before, f"fitting.{eye}.pd_mm", "Was the bridge in the middle? Measure again.")
        for eye, own, before in sides
        if above(abs(own - before), most + growth / 2.0)
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
