"""What the wearer is told of a pair, and when a first progressive is asked after."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest

from orders.documents.lens_order import LensOrder, parse_order
from orders.supplying.cautions import STEPS, TAKE_OFF, told_to_the_wearer
from orders.supplying.follow_up import follow_up_day


def text_of_order(**fields: Any) -> str:
    return json.dumps({"format": "lens-order/1", **fields})


def order(kind: str = "single_vision", *, treatments: tuple[str, ...] = (), **fields: Any) -> LensOrder:
    lens = {"design": "x", "material": "y", "extra": {"design_kind": kind, "treatment_kinds": list(treatments)}}
    return parse_order(text_of_order(lenses={"right": lens, "left": lens}, **fields))


@pytest.mark.parametrize(
    ("made", "says", "heard"),
    [
        (order("progressive"), STEPS, True),
        (order("bifocal"), STEPS, True),
        (order("single_vision"), STEPS, False),
        (order("progressive"), "at the sides it stays soft", True),
        (order("office"), "never drive in it", True),
        (order(use="near"), "never drive in it", True),
        (order(use="distance"), "never drive in it", False),
        (order(treatments=("photochromic",)), "behind a windscreen", True),
        (order(treatments=("antireflection",)), "behind a windscreen", False),
        (order(frame={"mount": "drilled"}), TAKE_OFF, True),
        (order(frame={"mount": "full_rim"}), TAKE_OFF, False),
        (order(), "It does not protect the eyes", True),
    ],
)
def test_a_caution_is_said_of_the_pairs_it_is_about(made: LensOrder, says: str, heard: bool) -> None:
    assert any(says in line for line in told_to_the_wearer(made)) is heard


def test_both_lenses_alike_are_spoken_of_once() -> None:
    told = told_to_the_wearer(order("progressive"))
    assert len(told) == len(set(told))


@pytest.mark.parametrize(
    ("share", "says"),
    [(8.0, "not suitable for driving and road use"), (8.1, "twilight or at night"), (75.0, "")],
)
def test_the_road_is_spoken_of_by_the_limits_of_the_check(share: float, says: str) -> None:
    lens = {"extra": {"luminous_transmittances": [share / 100.0], "treatment_kinds": ["tint"]}}
    told = told_to_the_wearer(parse_order(text_of_order(lenses={"right": lens, "left": None})))
    assert any("Luminous transmittance" in line for line in told) is bool(says)
    assert not says or says in told[0]


@pytest.mark.parametrize(
    ("kind", "before", "day"),
    [
        ("progressive", False, date(2026, 12, 14)),
        ("office", False, date(2026, 12, 14)),
        ("progressive", True, None),
        ("single_vision", False, None),
        ("bifocal", False, None),
    ],
)
def test_a_first_progressive_is_asked_after_in_two_weeks(kind: str, before: bool, day: date | None) -> None:
    assert follow_up_day(order(kind), date(2026, 11, 30), worn_before=before) == day
