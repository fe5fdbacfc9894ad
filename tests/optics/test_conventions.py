"""The words and signs of the optics core, and the one error."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.conventions import (
    axis_difference,
    mirrored_axis,
    nasal_sign,
    normalised_axis,
    other_eye,
    require_eye,
    stop_distance_mm,
)
from dispensing.optics.errors import OpticsError, require_finite, require_range


@given(st.floats(-1000.0, 1000.0))
def test_every_angle_has_one_axis_from_above_0_to_180(angle: float) -> None:
    axis = normalised_axis(angle)
    assert 0.0 < axis <= 180.0
    assert axis_difference(axis, angle) == pytest.approx(0.0, abs=1e-6)
    assert axis_difference(mirrored_axis(mirrored_axis(axis)), axis) == pytest.approx(0.0, abs=1e-6)


def test_axes_wrap_round_at_180() -> None:
    assert axis_difference(179.0, 1.0) == 2.0
    assert axis_difference(90.0, 180.0) == 90.0
    assert (mirrored_axis(170.0), mirrored_axis(180.0), mirrored_axis(90.0)) == (10.0, 180.0, 90.0)


def test_nasal_is_the_viewers_right_for_the_right_eye_only() -> None:
    assert (nasal_sign("right"), nasal_sign("left")) == (1.0, -1.0)
    assert (other_eye("right"), other_eye("left")) == ("left", "right")
    with pytest.raises(OpticsError, match="The eye is both; allowed: right or left"):
        require_eye("both")


def test_the_centre_of_rotation_lies_13_5_behind_the_cornea_and_27_behind_an_unknown_lens() -> None:
    assert stop_distance_mm(None) == 27.0
    assert stop_distance_mm(13.5) == 27.0
    assert stop_distance_mm(12.0) == 25.5


def test_the_error_carries_its_facts() -> None:
    with pytest.raises(OpticsError) as refused:
        require_range("vertex distance", 90.0, "mm", 0.0, 40.0)
    error = refused.value
    assert (error.quantity, error.value, error.unit, error.allowed) == ("vertex distance", 90.0, "mm", "0 to 40 mm")
    assert str(error) == "The vertex distance is 90.0 mm; allowed: 0 to 40 mm."
    assert isinstance(error, ValueError)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf"), None, "twelve", [1.0]])
def test_what_is_not_a_finite_number_is_refused(value: object) -> None:
    with pytest.raises(OpticsError, match="vertex distance"):
        require_finite("vertex distance", value, "mm")
