"""The small parts that the rules rely on: comparing, calendar sums, acuities and words as they are written."""

from __future__ import annotations

from datetime import date

import pytest

from orders.documents.lens_order import PrescribedEye, PrismPart
from orders.rules import compare, dates, words
from orders.rules.powers import WrittenPower


def test_a_figure_that_reads_like_its_limit_does_not_break_it() -> None:
    assert not compare.above(70.004, 70.0)
    assert compare.above(70.006, 70.0)
    assert not compare.below(17.996, 18.0)
    assert compare.at_least(0.1 + 0.2, 0.3)
    assert compare.same(0.1 + 0.2, 0.3)


def test_what_is_no_number_breaks_no_limit() -> None:
    assert not compare.above(float("nan"), 1.0)
    assert not compare.below(float("nan"), 1.0)


@pytest.mark.parametrize(
    ("value", "quarter", "eighth"),
    [(-2.25, True, True), (0.12, False, True), (0.13, False, True), (-1.62, False, True), (0.10, False, False)],
)
def test_eighths_are_written_with_two_decimals(value: float, quarter: bool, eighth: bool) -> None:
    assert compare.on_step(value, 0.25) is quarter
    assert compare.on_step(value, 0.125) is eighth


def test_months_later_ends_with_the_month() -> None:
    assert dates.months_later(date(2024, 2, 29), 12) == date(2025, 2, 28)
    assert dates.months_later(date(2026, 10, 31), 4) == date(2027, 2, 28)
    assert dates.months_later(date(9999, 1, 1), 24) == date.max


def test_working_days_leave_out_the_weekend() -> None:
    wednesday = date(2026, 11, 25)
    assert dates.working_days_between(wednesday, date(2026, 11, 27)) == 2
    assert dates.working_days_between(wednesday, date(2026, 11, 30)) == 3
    assert dates.working_days_between(wednesday, date(2026, 12, 9)) == 10
    assert dates.working_days_between(wednesday, wednesday) == 0


@pytest.mark.parametrize(
    ("value", "text"), [(-3.25, "−3.25"), (0.5, "+0.50"), (-0.0, "0.00"), (0.001, "0.00"), (1e300, "+1e+300")]
)
def test_powers_are_signed_and_have_two_decimals(value: float, text: str) -> None:
    assert words.power(value) == text


def test_lengths_have_no_more_figures_than_they_need() -> None:
    assert [words.mm(value) for value in (31.5, 70.0, 72.404, -0.001)] == ["31.5 mm", "70 mm", "72.4 mm", "0 mm"]
    assert words.listed(["a", "b", "c"]) == "a, b and c"
    assert words.listed(["a", "b"], "or") == "a or b"


def test_a_power_without_an_axis_still_has_its_meridians() -> None:
    power = WrittenPower.of(PrescribedEye(sphere=-4.0, cylinder=-1.5))

    assert power.optical is None
    assert power.meridians_d == (-4.0, -5.5)
    assert (power.strongest_d, power.mean_sphere) == (5.5, -4.75)


def test_plus_and_minus_cylinder_are_one_power() -> None:
    plus = WrittenPower.of(PrescribedEye(sphere=-5.5, cylinder=1.5, axis=80))

    assert plus.minus_form == WrittenPower(-4.0, -1.5, 170.0, None)


def test_prisms_of_one_eye_add_up_unless_one_is_half_written() -> None:
    whole = (PrismPart(amount=3.0, base="in"), PrismPart(amount=4.0, base="up"))

    assert WrittenPower.of(PrescribedEye(prism=whole)).prism_pd == pytest.approx(5.0)
    assert WrittenPower.of(PrescribedEye(prism=(*whole, PrismPart(amount=1.0)))).prism_pd == 0.0
