"""The control chart: run lengths against published ones, and against the chart itself run on drawn readings."""

from __future__ import annotations

import numpy as np
import pytest

from orders.figures.control import Scheme, average_run_length, chart, first_word

PUBLISHED = "SAS/QC User's Guide, Example 9.5"


@pytest.mark.parametrize(
    ("weight", "shift", "length"),
    [
        (0.25, 0.5, 48.45),
        (0.25, 1.0, 11.15),
        (0.25, 1.5, 5.47),
        (0.25, 2.0, 3.62),
        (1.0, 0.5, 155.22),
        (1.0, 1.0, 43.89),
        (1.0, 1.5, 14.97),
        (1.0, 2.0, 6.30),
    ],
)
def test_run_lengths_are_the_published_ones(weight: float, shift: float, length: float) -> None:
    assert average_run_length(shift, Scheme(weight, 3.0)) == pytest.approx(length, abs=0.006), PUBLISHED


def test_in_control_a_shewhart_chart_speaks_once_in_370_readings() -> None:
    """1 / (2 Φ(−3)) = 370.4, in every textbook."""
    assert average_run_length(0.0, Scheme(1.0, 3.0)) == pytest.approx(370.4, abs=0.05)


@pytest.mark.parametrize("shift", [0.7, 1.3])
def test_a_shift_down_is_found_as_soon_as_one_up(shift: float) -> None:
    assert average_run_length(shift, Scheme()) == pytest.approx(average_run_length(-shift, Scheme()))


def test_the_usual_scheme_is_the_published_one() -> None:
    assert (Scheme().weight, Scheme().width) == (0.25, 3.0)
    assert Scheme().limit == pytest.approx(3.0 * (0.25 / 1.75) ** 0.5)


@pytest.mark.parametrize(("shift", "expected"), [(1.0, 11.15), (2.0, 3.62)])
def test_the_chart_itself_runs_as_long_as_the_integral_says(shift: float, expected: float) -> None:
    """2000 charts of drawn readings; the mean is within four standard errors."""
    drawn = np.random.default_rng(4711).normal(shift, 1.0, (2000, 200))
    lengths = [first_word(chart(row, Scheme())) for row in drawn]
    found = np.array([length for length in lengths if length is not None], float)
    assert len(found) == 2000
    assert abs(found.mean() - expected) < 4.0 * found.std() / len(found) ** 0.5


def test_the_average_weighs_the_newest_most_and_speaks_beyond_its_limit() -> None:
    points = chart([2.0, 0.0, 4.0], Scheme(0.25, 3.0))
    assert [point.average for point in points] == [0.5, 0.375, 1.28125]
    assert [point.speaks for point in points] == [False, False, True]
    assert first_word(points) == 3
    assert first_word(chart([0.0] * 50, Scheme())) is None


def test_only_beyond_the_limit_it_speaks() -> None:
    scheme = Scheme(1.0, 3.0)
    assert [point.speaks for point in chart([3.0, -3.0, 3.0001, -3.0001], scheme)] == [False, False, True, True]
