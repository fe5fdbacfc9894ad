"""Readings by hand become one figure with the ± that their method deserves."""

from __future__ import annotations

import pytest

from dispensing.fitting.by_hand import REPEATABILITY, figure_from_readings
from dispensing.optics.errors import OpticsError

# Single-reading SD times 1.96: Garcia-Espinilla et al. 2022 (PD by rule, height), McMahon et al. 2012 (pupillometer).
ONE_READING = [
    ("pd_mm", "rule", 0.98),
    ("pd_mm", "pupillometer", 0.75),
    ("height_mm", "rule", 0.90),
    ("height_mm", "photo", 1.57),
    ("pantoscopic_deg", "rule", 3.92),
]


@pytest.mark.parametrize(("quantity", "method", "plus_minus"), ONE_READING)
def test_one_reading_carries_the_published_repeatability_of_its_method(
    quantity: str, method: str, plus_minus: float
) -> None:
    figure = figure_from_readings([12.0], quantity, method)
    assert figure.plus_minus == pytest.approx(plus_minus, abs=0.005)
    assert (figure.value, figure.spread, figure.count, figure.scattered) == (12.0, 0.0, 1, False)


def test_three_readings_are_worth_their_mean_and_a_smaller_doubt() -> None:
    figure = figure_from_readings([31.5, 32.0, 31.5], "pd_mm", "rule")
    assert figure.value == pytest.approx(31.6667, abs=1e-4)
    assert figure.spread == 0.5
    assert figure.plus_minus == pytest.approx(0.98 / 3**0.5, abs=0.005)


def test_readings_that_scatter_more_than_the_method_keep_their_own_doubt() -> None:
    close, wide = ([21.0, 21.2, 20.8], [19.0, 21.0, 23.0])
    assert figure_from_readings(wide, "height_mm", "rule").plus_minus == pytest.approx(1.96 * 2 / 3**0.5, abs=0.001)
    assert figure_from_readings(close, "height_mm", "rule").plus_minus == pytest.approx(0.90 / 3**0.5, abs=0.005)


def test_two_heights_more_than_a_millimetre_apart_want_a_third() -> None:
    assert not figure_from_readings([21.0, 22.0], "height_mm", "rule").scattered
    assert figure_from_readings([21.0, 22.1], "height_mm", "rule").scattered


def test_two_pds_by_rule_may_lie_as_far_apart_as_the_critical_range_says() -> None:
    # ISO 5725-6: 2.8 SD for two readings, 3.3 for three; SD 0.50 mm.
    assert not figure_from_readings([31.0, 32.4], "pd_mm", "rule").scattered
    assert figure_from_readings([31.0, 32.5], "pd_mm", "rule").scattered
    assert not figure_from_readings([31.0, 32.5, 32.0], "pd_mm", "rule").scattered


def test_nothing_is_claimed_about_a_copied_figure() -> None:
    figure = figure_from_readings([31.5, 35.0], "pd_mm", "copied")
    assert figure.plus_minus is None
    assert not figure.scattered


def test_a_published_95_percent_band_is_taken_as_such() -> None:
    # McMahon et al., 2012: about ±0.75 mm for a pupillometer, which is 1.96 SD of one reading.
    assert REPEATABILITY["pd_mm", "pupillometer"] == pytest.approx(0.3827, abs=1e-4)
    assert REPEATABILITY["pd_mm", "rule"] == 0.50
    assert figure_from_readings([31.5], "near_pd_mm", "pupillometer").plus_minus == pytest.approx(0.75)


def test_no_reading_is_no_figure() -> None:
    with pytest.raises(OpticsError, match="at least one"):
        figure_from_readings([], "pd_mm", "rule")


# ISO 5725-6:1994, table 1: how many SD apart the largest and the smallest of n readings may lie (95 %).
CRITICAL_RANGE = {2: 2.8, 3: 3.3, 4: 3.6, 5: 3.9, 6: 4.0, 7: 4.2, 8: 4.3}


@pytest.mark.parametrize(("count", "factor"), CRITICAL_RANGE.items())
def test_readings_scatter_beyond_the_critical_range_of_their_number(count: int, factor: float) -> None:
    most = factor * REPEATABILITY["pd_mm", "rule"]
    for apart, scattered in ((most - 0.02, False), (most + 0.02, True)):
        readings = [31.0, *[31.0 + apart / 2.0] * (count - 2), 31.0 + apart]
        assert figure_from_readings(readings, "pd_mm", "rule").scattered is scattered
