"""Bands of shares and means, against published values."""

from __future__ import annotations

import pytest

from orders.figures.bands import Mean, Share, students_t


@pytest.mark.parametrize(
    ("found", "count", "low", "high"),
    [
        # Newcombe, Statistics in Medicine 17, 1998, table I, method 3 (Wilson score); quoted from memory.
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_a_share_has_wilsons_band(found: int, count: int, low: float, high: float) -> None:
    band = Share(found, count).band
    assert band is not None
    assert band == pytest.approx((low, high), abs=5e-5)


def test_nothing_of_nothing_is_no_share() -> None:
    assert (Share(0, 0).share, Share(0, 0).band) == (None, None)


@pytest.mark.parametrize(("freedom", "t"), [(1, 12.706), (2, 4.303), (4, 2.776), (9, 2.262), (29, 2.045), (120, 1.980)])
def test_students_t_is_that_of_the_tables(freedom: int, t: float) -> None:
    """Two-sided 95 %: in every table, as in Pearson and Hartley, Biometrika Tables."""
    assert students_t(freedom) == pytest.approx(t, abs=6e-4)


def test_a_mean_has_its_band_and_is_off_when_that_leaves_nought_out() -> None:
    off, chance = Mean.of([0.06, 0.07, 0.05, 0.06]), Mean.of([0.06, -0.05, 0.1, -0.02])
    assert off is not None
    assert chance is not None
    assert off.count == 4
    assert off.mean == pytest.approx(0.06)
    assert off.band == pytest.approx((0.06 - 3.182 * 0.008165 / 2, 0.06 + 3.182 * 0.008165 / 2), abs=1e-4)
    assert (off.is_off, chance.is_off) == (True, False)


def test_one_reading_has_no_spread_and_says_nothing() -> None:
    one = Mean.of([0.5])
    assert one is not None
    assert (one.spread, one.band, one.is_off) == (None, None, False)
    assert Mean.of([]) is None
