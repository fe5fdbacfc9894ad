"""A new patient has no last prescription, but wears a pair: each slip against it is heard, and named as such."""

from __future__ import annotations

import json
from typing import Any

import pytest

from orders.documents.lens_order import LensOrder, parse_order
from orders.documents.order_report import FindingPart
from orders.rules import check
from orders.rules.examples import clean_order, example_catalogue

WORN = {
    "read_on": "2026-11-25",
    "use": "distance_and_near",
    "right": {"sphere": -2.00, "cylinder": -0.75, "axis": 168, "add": 1.50},
    "left": {"sphere": -0.75, "cylinder": -0.50, "axis": 18, "add": 1.50},
}
WRITTEN = {
    "right": {"sphere": -2.25, "cylinder": -0.75, "axis": 170, "add": 1.75},
    "left": {"sphere": -1.00, "cylinder": -0.50, "axis": 15, "add": 1.75},
}


def order_with(
    written: dict[str, Any] | None = None, worn: dict[str, Any] | None = None, previous: Any = None, **facts: Any
) -> LensOrder:
    document = json.loads(clean_order().model_dump_json(exclude_unset=True))
    for eye, power in {**WRITTEN, **(written or {})}.items():
        document["prescription"][eye] |= power
    document["previous_prescription"] = previous
    document["patient"]["present_spectacles"] = WORN if worn is None else worn or None
    return parse_order(json.dumps(document | facts))


def said(rule: str, order: LensOrder) -> list[FindingPart]:
    return [part for part in check(order, example_catalogue()).findings if part.rule == rule]


SLIPS = [
    ("sign-change", {"right": {"sphere": 2.25}}, "right", "is +2.25; the pair worn now has −2.00.", 2.25, -1.25),
    ("sign-change", {"left": {"cylinder": 0.5, "axis": 18}}, "left", "the pair worn now has −0.50 at about", 0.5, -0.5),
    ("axis-slip", {"right": {"axis": 80}}, "right", "88° from the 168 of the pair worn now", 88.0, 15.0),
    ("decimal-slip", {"right": {"sphere": -0.25}}, "right", "is −0.25; the pair worn now has −2.00.", -0.25, -2.0),
    (
        "eyes-exchanged",
        {"right": WRITTEN["left"] | {"axis": 15}, "left": WRITTEN["right"]},
        "both",
        "the two eyes would fit the pair worn now much better",
        None,
        None,
    ),
    (
        "present-spectacles",
        {"left": {"sphere": -2.0}},
        "left",
        "from the pair worn now: the mean sphere by −1.25.",
        1.25,
        0.75,
    ),
]


@pytest.mark.parametrize(("rule", "written", "eye", "text", "found", "limit"), SLIPS)
def test_a_slip_of_a_new_patient_shows_against_the_pair_worn_now(
    rule: str, written: dict[str, Any], eye: str, text: str, found: float | None, limit: float | None
) -> None:
    unread = said(rule, order_with(written, worn={}))
    assert not [part for part in unread if "worn now" in part.says]
    (part,) = [part for part in said(rule, order_with(written)) if text in part.says]
    assert (part.level, part.eye) == ("ask", eye)
    if found is not None:
        assert part.found == pytest.approx(found)
    assert "last" not in part.says


def test_a_prescription_near_the_pair_worn_now_raises_nothing() -> None:
    rules = {rule for rule, *_ in SLIPS}
    assert not [part for part in check(order_with(), example_catalogue()).findings if part.rule in rules]


@pytest.mark.parametrize("use", ["near", "intermediate"])
def test_reading_spectacles_are_never_compared_with_a_prescription_for_the_distance(use: str) -> None:
    readers = {"use": use, "right": {"sphere": 3.0}, "left": {"sphere": 3.0}}
    rules = {part.rule for part in check(order_with(worn=readers), example_catalogue()).findings}
    assert not rules & {rule for rule, *_ in SLIPS}
    same_distance = order_with(worn=readers, prescription=_for_near())
    found = said("sign-change", same_distance) if use == "near" else []
    assert bool(found) is (use == "near")


def _for_near() -> dict[str, Any]:
    stated = json.loads(order_with().prescription.model_dump_json(exclude_unset=True))
    return {**stated, "use": "near", "right": {"sphere": -2.0}, "left": {"sphere": -2.0}}


def test_what_the_last_prescription_already_says_is_not_asked_a_second_time() -> None:
    changed = {"right": {"sphere": -4.0}}
    last = {"tested_on": "2024-10-21", **{eye: WORN[eye] for eye in ("right", "left")}}
    both = order_with(changed, previous=last)
    assert [part.eye for part in said("large-change", both)] == ["right"]
    assert said("present-spectacles", both) == []
    other_eye = order_with(changed, previous=last, worn=WORN | {"left": {"sphere": -3.0, "cylinder": -0.5, "axis": 18}})
    assert [part.eye for part in said("present-spectacles", other_eye)] == ["left"]


def test_slips_are_told_against_the_last_prescription_where_there_is_one() -> None:
    last = {"tested_on": "2024-10-21", **{eye: WORN[eye] for eye in ("right", "left")}}
    parts = said("sign-change", order_with({"right": {"sphere": 2.25}}, previous=last))
    assert "last time it was −2.00" in next(part.says for part in parts if part.eye == "right")
    assert not [part for part in parts if "worn now" in part.says]
