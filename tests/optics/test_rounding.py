"""Rounding as the trade does it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.errors import OpticsError
from dispensing.optics.rounding import (
    at_least,
    at_most,
    hundredths,
    is_on_step,
    less_than,
    more_than,
    round_to,
)

figures = st.floats(-500.0, 500.0)


@pytest.mark.parametrize(
    ("value", "step", "expected"),
    [
        (0.125, 0.25, 0.25),
        (-0.125, 0.25, -0.25),
        (2.5, 1.0, 3.0),
        (-2.5, 1.0, -3.0),
        (31.25, 0.5, 31.5),
        (0.1 + 0.2, 0.1, 0.3),
        (1.005, 0.01, 1.01),
        (2.675, 0.01, 2.68),
    ],
)
def test_halves_go_away_from_zero_whatever_binary_makes_of_them(value: float, step: float, expected: float) -> None:
    assert round_to(value, step) == expected


@given(figures, st.sampled_from([0.01, 0.1, 0.12, 0.25, 0.5, 1.0]))
def test_a_rounded_figure_is_near_on_its_step_and_stays_there(value: float, step: float) -> None:
    rounded = round_to(value, step)
    assert abs(rounded - value) <= step / 2 + 1e-9
    assert is_on_step(rounded, step)
    assert round_to(rounded, step) == rounded
    assert round_to(-value, step) == -rounded


def test_quarters_of_a_dioptre() -> None:
    assert round_to(-3.12, 0.25) == -3.0
    assert round_to(-3.13, 0.25) == -3.25
    assert is_on_step(-3.25, 0.25)
    assert not is_on_step(-3.3, 0.25)


def test_a_limit_is_compared_as_it_is_printed() -> None:
    assert at_most(70.004, 70.0)
    assert more_than(70.006, 70.0)
    assert at_least(0.996, 1.0)
    assert less_than(0.994, 1.0)
    assert hundredths(69.999999) == 70.0


@given(figures, figures)
def test_every_pair_of_figures_compares_one_way_only(found: float, limit: float) -> None:
    assert at_most(found, limit) != more_than(found, limit)
    assert at_least(found, limit) != less_than(found, limit)


def test_nothing_is_rounded_from_nothing_or_to_nothing() -> None:
    for value, step in ((float("nan"), 0.25), (1.0, 0.0), (1.0, -0.25), (None, 0.25)):
        with pytest.raises(OpticsError):
            round_to(value, step)  # type: ignore[arg-type]  # refused on purpose
