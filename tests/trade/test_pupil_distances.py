"""Which PDs people of a given age have: both eyes from the table, one eye worked out, with tightened limits too."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from dispensing.trade.limits import TRADE, Limits, PracticeLimits
from dispensing.trade.pupil_distances import near_of_one_eye, of_one_eye, possible_pd, usual_convergence, usual_pd


def band(found: Any) -> tuple[float, float]:
    return found.low, found.high


@pytest.mark.parametrize(
    ("age", "low", "high", "who"),
    [
        (0, 34.0, 52.0, "babies"),
        (1, 36.0, 54.0, "children of 1 or 2"),
        (4, 38.0, 57.0, "children of 3 or 4"),
        (5, 40.0, 59.0, "children of 5 or 6"),
        (8, 42.0, 60.0, "children of 7 or 8"),
        (9, 44.0, 63.0, "children of 9 or 10"),
        (12, 46.0, 65.0, "children of 11 or 12"),
        (13, 49.0, 70.0, "young people of 13 to 15"),
        (15, 49.0, 70.0, "young people of 13 to 15"),
        (16, 54.0, 74.0, "adults"),
        (80, 54.0, 74.0, "adults"),
        (None, 54.0, 74.0, "adults"),
    ],
)
def test_the_usual_pd_goes_by_age(age: int | None, low: float, high: float, who: str) -> None:
    found = usual_pd(TRADE, age)
    assert (*band(found), found.who) == (low, high, who)


def test_dodgson_2004_holds_the_bands() -> None:
    """Most adults lie within 50 to 75 mm, nearly all within 45 to 80 (N. A. Dodgson, SPIE 5291, 2004)."""
    usual, possible = usual_pd(TRADE, None), possible_pd(TRADE)
    assert 50.0 <= usual.low < usual.high <= 75.0
    assert 45.0 <= possible.low < usual.low
    assert usual.high < possible.high <= 80.0
    assert usual_pd(TRADE, 5).low == 40.0


def test_one_eye_has_half_give_or_take_the_usual_unevenness() -> None:
    assert band(of_one_eye(usual_pd(TRADE, None), TRADE)) == (26.0, 38.0)
    assert band(of_one_eye(possible_pd(TRADE), TRADE)) == (23.0, 41.0)
    assert band(of_one_eye(usual_pd(TRADE, 6), TRADE)) == (19.0, 30.5)
    assert band(near_of_one_eye(usual_pd(TRADE, None), TRADE)) == pytest.approx((26.0 - 2.34, 38.0 - 1.14))


def test_a_practice_that_is_stricter_is_so_for_one_eye_as_well() -> None:
    stricter = Limits(PracticeLimits({"pd-range": {"adult_least_mm": 58.0}, "pd-asymmetry": {"difference_mm": 1.0}}))
    assert band(usual_pd(stricter, 30)) == (58.0, 74.0)
    assert band(of_one_eye(usual_pd(stricter, 30), stricter)) == (28.5, 37.5)
    assert band(usual_pd(stricter, 6)) == (40.0, 59.0)
    assert 28.5 in of_one_eye(usual_pd(stricter, 30), stricter)
    assert 28.4 not in of_one_eye(usual_pd(stricter, 30), stricter)


@pytest.mark.parametrize(
    ("far", "distance", "low", "high"),
    [
        (63.0, None, 1.89, 5.67),
        (63.0, 400.0, 1.89, 5.67),
        (31.5, 400.0, 0.945, 2.835),
        (71.0, 400.0, 2.13, 6.39),
        # s / (W + s) with s = 27: 27/327 instead of 27/427 at 300 mm, 27/627 at 600 mm.
        (63.0, 300.0, 1.89 * 427 / 327, 5.67 * 427 / 327),
        (63.0, 600.0, 1.89 * 427 / 627, 5.67 * 427 / 627),
        # 40 typed for 40 cm is no distance anybody reads at.
        (63.0, 40.0, 1.89, 5.67),
        (63.0, 150.0, 1.89 * 427 / 177, 5.67 * 427 / 177),
    ],
)
def test_a_near_pd_is_less_by_a_share_of_the_far_one_that_goes_with_the_distance(
    far: float, distance: float | None, low: float, high: float
) -> None:
    assert band(usual_convergence(far, TRADE, distance)) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("age", "average"),
    [(1, 46.5), (2, 47.5), (3, 49.5), (4, 51.0), (5, 51.0)],
)
def test_the_average_measured_at_an_age_lies_well_within_its_band(age: int, average: float) -> None:
    """220 children at 3 m: The development of norms of pediatric interpupillary distance, Pacific University, 1993."""
    found = usual_pd(TRADE, age)
    assert found.low + 6.0 <= average <= found.high - 5.5


def test_bands_grow_with_age_up_to_the_adults() -> None:
    found = [usual_pd(TRADE, age) for age in range(17)]
    assert all(one.low <= two.low and one.high <= two.high for one, two in itertools.pairwise(found))


@pytest.mark.parametrize(("age", "low"), [(None, 48.0), (40, 48.0), (16, 48.0), (15, 43.0), (9, 38.0), (0, 28.0)])
def test_a_slip_is_as_far_below_what_is_usual_in_a_child_as_in_an_adult(age: int | None, low: float) -> None:
    assert band(possible_pd(TRADE, age)) == (low, 80.0)


def test_a_practice_that_stops_earlier_does_so_for_children_too() -> None:
    stricter = Limits(PracticeLimits({"pd-range": {"least_possible_mm": 50.0}}))
    assert possible_pd(stricter, 40).low == 50.0
    assert possible_pd(stricter, 9).low == 40.0
