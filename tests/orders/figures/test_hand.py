"""A lab's hand: pairs counted once, labs and designs apart, a bias and a drift shown, and too few pairs say so."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from orders.figures.hand import Hand, Reading, axis_as_cylinder, every_hand, hands

DAY = date(2026, 11, 2)


def reading(number: int, error: float, **changes: str) -> Reading:
    told = {"lab": "Lantern", "design": "Daily", "quantity": "meridian_high", **changes}
    return Reading(f"D-{number:05}", DAY + timedelta(days=number), error=error, **told)


def of(errors: list[float], **changes: str) -> Hand:
    (hand,) = hands([reading(number, error, **changes) for number, error in enumerate(errors)])
    return hand


QUIET = [0.03, -0.03, 0.02, -0.02] * 5


def test_two_lenses_of_a_pair_are_one_witness_with_their_mean() -> None:
    (hand,) = hands([reading(1, 0.10), reading(1, 0.02), reading(2, -0.04)])
    assert [(pair.number, round(pair.error, 3)) for pair in hand.pairs] == [("D-00001", 0.06), ("D-00002", -0.04)]


def test_labs_designs_and_quantities_stand_apart_and_in_order() -> None:
    rows = [
        reading(1, 0.1, quantity="pd"),
        reading(1, 0.1),
        reading(2, 0.2, design="Office"),
        reading(3, 0.3, lab="Bright"),
        reading(4, 0.3, quantity="heights_pair"),
    ]
    found = [(hand.lab, hand.design, hand.quantity, hand.mean.count) for hand in hands(rows)]
    assert found == [
        ("Bright", "Daily", "meridian_high", 1),
        ("Lantern", "Daily", "meridian_high", 1),
        ("Lantern", "Daily", "pd", 1),
        ("Lantern", "Office", "meridian_high", 1),
    ]
    assert [hand.design for hand in hands(rows, by_design=False)] == ["", "", ""]


def test_a_lab_of_several_designs_is_shown_in_all_of_them_and_in_each() -> None:
    rows = [reading(1, 0.1), reading(2, 0.2, design="Office"), reading(3, 0.3, lab="Bright")]
    assert [(hand.lab, hand.design, hand.mean.count) for hand in every_hand(rows)] == [
        ("Bright", "", 1),
        ("Lantern", "", 2),
        ("Lantern", "Daily", 1),
        ("Lantern", "Office", 1),
    ]


def test_a_lab_that_is_off_by_an_eighth_is_told_since_when_and_one_that_is_not_is_not() -> None:
    quiet, off = of(QUIET), of([*QUIET, *(error + 0.12 for error in QUIET)])
    assert (quiet.speaks, quiet.said) == (False, "Inside its limits.")
    assert off.speaks
    first = next(number for number, point in enumerate(off.points) if point.speaks)
    assert 20 <= first <= 23
    assert off.said == f"Outside its limits, above what is ordered, since D-{first:05}. Tell the lab."
    below = of([*QUIET, *(error - 0.12 for error in QUIET)])
    assert "below what is ordered" in below.said


def test_a_lab_that_has_come_back_is_not_told_again() -> None:
    back = of([*QUIET, *(error + 0.12 for error in QUIET), *QUIET, *QUIET])
    assert (back.speaks, back.said) == (False, "Inside its limits; it was outside before.")


@pytest.mark.parametrize(("pairs", "drawn"), [(7, 0), (8, 8)])
def test_too_few_pairs_say_so(pairs: int, drawn: int) -> None:
    hand = of(QUIET[:pairs])
    assert len(hand.points) == drawn
    assert ("Too few pairs" in hand.said) is (drawn == 0)


def test_the_spread_is_that_from_pair_to_pair_and_a_bias_does_not_widen_it() -> None:
    """Mean moving range over 1.128."""
    hand = of([0.0, 0.2] * 6)
    assert hand.sigma == pytest.approx(0.2 / 1.1284, abs=1e-4)
    assert of([1.0, 1.2] * 6).sigma == pytest.approx(hand.sigma)


@pytest.mark.parametrize(("quantity", "least"), [("meridian_high", 0.03), ("prism_vertical", 0.06), ("height", 0.25)])
def test_no_lab_is_steadier_than_the_instrument_that_reads_it(quantity: str, least: float) -> None:
    assert of([0.001, -0.001] * 5, quantity=quantity).sigma == least


@pytest.mark.parametrize(
    ("cylinder", "turned", "left"),
    [(-1.0, 10.0, 0.1710), (1.0, 10.0, 0.1710), (-1.0, -10.0, -0.1710), (-2.0, 45.0, 1.0), (-0.5, 0.0, 0.0)],
)
def test_a_turned_axis_counts_by_the_cross_cylinder_it_leaves(cylinder: float, turned: float, left: float) -> None:
    """The residual cylinder of a turn is 2 C sin θ; its part across the axis is half of C sin 2θ (Thibos)."""
    assert axis_as_cylinder(cylinder, turned) == pytest.approx(left, abs=5e-5)
