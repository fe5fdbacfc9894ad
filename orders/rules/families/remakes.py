"""A pair made again: which order it replaces, why, and whether that is true of the figures."""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.trade.remark_words import mentions
from orders.documents.lens_order import EYES, LensOrder
from orders.documents.order_report import Level
from orders.rules import words
from orders.rules.case import Case
from orders.rules.families.handling import powers_of
from orders.rules.finding import Finding
from orders.rules.powers import WrittenPower
from orders.rules.registry import Family

rule = Family("remakes").rule


@rule(
    id="remake-reference",
    number=114,
    level=("stop", "ask"),
    title="A remake names the order it replaces",
    why="Without the first order's number the lab gives no credit and cannot see what was wrong.",
)
def remake_reference(case: Case) -> Iterator[Finding]:
    order, first = case.order, (case.order.remake_of or "").strip()
    if order.purpose == "remake" and not first:
        says, advice = "This is a remake, and the number of the first order is missing.", "Give it."
        yield _reference(says, advice, None, "the first order's number", "stop")
    elif order.purpose == "remake" and first == (order.number or "").strip():
        says = f"Order {first} is called a remake of itself."
        yield _reference(says, "Give the number of the first order.", first, "the first order's number", "stop")
    elif order.purpose == "new" and first:
        says = f"These are called new spectacles, and yet a remake of order {first}."
        yield _reference(says, "Say which: bill and warranty hang on it.", first, "no first order", "ask")


def _reference(says: str, advice: str, found: str | None, limit: str, level: Level) -> Finding:
    remedies = ("Give the number of the first order.", "Call it new if it replaces none.")
    return Finding(says, advice, None, found, limit, None, remedies, "remake_of", level)


@rule(
    id="remake-cause",
    number=114,
    level="ask",
    title="A remake says what was wrong, and so do its figures",
    why="If nobody says what was wrong, the same is made again; and a lab pays only for its own mistakes.",
)
def remake_cause(case: Case) -> Iterator[Finding]:
    order = case.order
    if order.purpose != "remake":
        return
    if not (order.remarks or "").strip():
        yield Finding(
            "This is a remake, and nothing says what was wrong with the first pair.",
            "Say in the remarks what was wrong, and what is to change.",
            None,
            None,
            "what was wrong",
            None,
            ("Say what was wrong with the first pair.",),
            "remarks",
        )
    first = next((one for one in case.others if one.number is not None and one.number == order.remake_of), None)
    blamed = next(iter(mentions(order.remarks, "lab")), None)
    if first is not None and blamed is not None and powers_of(first.prescription) != powers_of(order.prescription):
        changed = words.listed(_changed(first, order))
        yield Finding(
            f"The remarks put the remake down to the lab (“{blamed.said}”), but the powers are no longer those of "
            f"order {first.number}: {changed}.",
            "Correct the reason or the powers before the lab sees it.",
            None,
            changed,
            f"the powers of order {first.number}",
            None,
            ("Correct the reason.", "Order the powers of the first pair."),
            "remarks",
        )


def _changed(first: LensOrder, now: LensOrder) -> Iterator[str]:
    for eye in EYES:
        then, again = (WrittenPower.of(one.prescription.eye(eye)).optical for one in (first, now))
        if then is not None and again is not None and then != again:
            yield f"{eye} {words.full_power(then)} then, {words.full_power(again)} now"
        elif first.prescription.eye(eye) != now.prescription.eye(eye):
            yield f"{eye} another add or prism"
