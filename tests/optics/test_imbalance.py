"""Vertical imbalance at the reading level, and slab-off."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.errors import OpticsError
from dispensing.optics.imbalance import reverse_slab_off, slab_off, vertical_imbalance
from dispensing.optics.power import SphereCylinder
from tests.optics.lens_strategies import powers

levels = st.floats(0.0, 20.0)


@given(powers, powers, levels)
def test_the_imbalance_is_the_difference_of_the_powers_along_90_times_the_level(
    right: SphereCylinder, left: SphereCylinder, level: float
) -> None:
    found = vertical_imbalance(right, left, level)
    expected = (right.power_along(90.0) - left.power_along(90.0)) * level / 10.0
    assert found.signed_pd == pytest.approx(expected, abs=1e-9)
    assert found.magnitude_pd == pytest.approx(abs(expected), abs=1e-9)


@given(powers, powers, levels)
def test_exchanging_the_eyes_turns_the_sign(right: SphereCylinder, left: SphereCylinder, level: float) -> None:
    there = vertical_imbalance(right, left, level)
    back = vertical_imbalance(left.mirrored(), right.mirrored(), level)
    assert there.signed_pd == pytest.approx(-back.signed_pd, abs=1e-9)


@given(powers, powers)
def test_slab_off_goes_on_the_eye_with_more_minus_along_90_and_takes_the_imbalance_away(
    right: SphereCylinder, left: SphereCylinder
) -> None:
    found = vertical_imbalance(right, left)
    slab, reverse = slab_off(found), reverse_slab_off(found)
    if found.magnitude_pd < 1e-9:
        assert slab is None
        assert reverse is None
        return
    assert slab is not None
    assert reverse is not None
    more_minus = "right" if right.power_along(90.0) < left.power_along(90.0) else "left"
    assert (slab.eye, slab.base) == (more_minus, "up")
    assert (reverse.eye, reverse.base) == ("left" if more_minus == "right" else "right", "down")
    right_change = slab.amount_pd if slab.eye == "right" else -slab.amount_pd
    assert found.signed_pd + right_change == pytest.approx(0.0, abs=1e-9)


def test_the_near_inset_brings_in_the_oblique_cylinders() -> None:
    right, left = SphereCylinder(-2.0, -2.0, 45.0), SphereCylinder(-2.0)
    straight = vertical_imbalance(right, left, 10.0)
    converged = vertical_imbalance(right, left, 10.0, right_inset_mm=2.0, left_inset_mm=2.0)
    # Off-diagonal power of -2.00 x 45 is +1.00 D: 2 mm of inset take 0.2 Δ base up from the right eye.
    assert converged.right_up_pd - straight.right_up_pd == pytest.approx(-0.2)
    assert converged.left_up_pd == pytest.approx(straight.left_up_pd)


def test_a_reading_level_above_the_centre_or_unknown_is_refused() -> None:
    for level in (-1.0, float("nan")):
        with pytest.raises(OpticsError, match="reading level"):
            vertical_imbalance(SphereCylinder(1.0), SphereCylinder(2.0), level)
