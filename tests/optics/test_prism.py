"""Prism: signs, components, Prentice in matrix form, decentration, sharing."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import (
    Prism,
    binocular_prism,
    prism_at,
    prism_from_decentration,
    resultant,
    split_equally,
)
from tests.optics.lens_strategies import eyes, powers

amounts = st.floats(-8.0, 8.0)
prisms = st.builds(Prism, amounts, amounts)
millimetres = st.floats(-25.0, 25.0)


@pytest.mark.parametrize(
    ("base", "components", "right_deg", "left_deg"),
    [
        ("in", (2.0, 0.0), 0.0, 180.0),
        ("out", (-2.0, 0.0), 180.0, 0.0),
        ("up", (0.0, 2.0), 90.0, 90.0),
        ("down", (0.0, -2.0), 270.0, 270.0),
    ],
)
def test_base_directions_and_base_angles_of_both_eyes(
    base: Any, components: tuple[float, float], right_deg: float, left_deg: float
) -> None:
    prism = Prism.from_base(2.0, base)
    assert (prism.in_pd, prism.up_pd) == components
    assert prism.base_deg("right") == pytest.approx(right_deg)
    assert prism.base_deg("left") == pytest.approx(left_deg)
    assert prism.written() == ((2.0, base),)


@given(prisms, eyes)
def test_a_prism_resolved_and_combined_is_the_same_prism(prism: Prism, eye: Any) -> None:
    again = Prism.from_angle(prism.amount_pd, prism.base_deg(eye), eye)
    assert (again.in_pd, again.up_pd) == pytest.approx((prism.in_pd, prism.up_pd), abs=1e-9)
    parts = resultant(Prism.from_base(amount, base) for amount, base in prism.written())
    assert (parts.in_pd, parts.up_pd) == pytest.approx((prism.in_pd, prism.up_pd), abs=1e-8)
    assert 0.0 <= prism.base_deg(eye) < 360.0


@given(prisms, prisms)
def test_sharing_between_the_eyes_keeps_what_the_pair_does(right: Prism, left: Prism) -> None:
    before, after = binocular_prism(right, left), binocular_prism(*split_equally(right, left))
    assert (after.in_pd, after.up_pd) == pytest.approx((before.in_pd, before.up_pd), abs=1e-9)


def test_six_dioptres_out_on_one_eye_become_three_on_each() -> None:
    right, left = split_equally(Prism.from_base(6.0, "out"), Prism())
    assert right.written() == left.written() == ((3.0, "out"),)


def test_a_plus_lens_looked_through_below_its_centre_gives_base_up_and_nasal_of_it_base_out() -> None:
    assert prism_at(SphereCylinder(4.0), 0.0, -10.0, "right").written() == ((4.0, "up"),)
    for eye in ("right", "left"):
        assert prism_at(SphereCylinder(4.0), 5.0, 0.0, eye).written() == ((2.0, "out"),)
        assert prism_at(SphereCylinder(-4.0), 5.0, 0.0, eye).written() == ((2.0, "in"),)


@given(powers, millimetres, millimetres)
def test_mirrored_lenses_give_mirrored_prism(power: SphereCylinder, nasal: float, up: float) -> None:
    right, left = prism_at(power, nasal, up, "right"), prism_at(power.mirrored(), nasal, up, "left")
    assert (right.in_pd, right.up_pd) == pytest.approx((left.in_pd, left.up_pd), abs=1e-9)


@given(powers, powers, millimetres, millimetres, eyes)
def test_prism_of_two_lenses_together_is_the_sum_of_both(
    first: SphereCylinder, second: SphereCylinder, nasal: float, up: float, eye: Any
) -> None:
    together = prism_at(first + second, nasal, up, eye)
    apart = prism_at(first, nasal, up, eye) + prism_at(second, nasal, up, eye)
    assert (together.in_pd, together.up_pd) == pytest.approx((apart.in_pd, apart.up_pd), abs=1e-8)


@given(powers, millimetres, millimetres, eyes)
def test_a_centre_moved_in_and_up_meets_the_pupil_out_and_down_of_it(
    power: SphereCylinder, nasal: float, up: float, eye: Any
) -> None:
    moved, seen = prism_from_decentration(power, nasal, up, eye), prism_at(power, -nasal, -up, eye)
    assert (moved.in_pd, moved.up_pd) == (seen.in_pd, seen.up_pd)


def test_a_plano_cylinder_makes_prism_along_its_power_only() -> None:
    axis_vertical = SphereCylinder(0.0, -2.0, 90.0)
    assert prism_from_decentration(axis_vertical, -5.0, 0.0, "right").written() == ((1.0, "in"),)
    assert prism_from_decentration(axis_vertical, 0.0, 5.0, "right").written() == ()


def test_an_oblique_cylinder_moved_sideways_makes_vertical_prism_too() -> None:
    prism = prism_from_decentration(SphereCylinder(2.0, -4.0, 135.0), -10.0, 0.0, "right")
    assert np.array([prism.in_pd, prism.up_pd]) == pytest.approx([0.0, 2.0], abs=1e-12)


def test_impossible_prisms_are_refused_by_name() -> None:
    with pytest.raises(OpticsError, match="prism base is sideways; allowed: in, out, up or down"):
        Prism.from_base(2.0, "sideways")
    with pytest.raises(OpticsError, match=r"prism is -2\.0 Δ"):
        Prism.from_base(-2.0, "in")
    with pytest.raises(OpticsError, match="base angle is 400"):
        Prism.from_angle(2.0, 400.0, "right")
    with pytest.raises(OpticsError, match="horizontal prism"):
        Prism(float("nan"), 0.0)
    with pytest.raises(OpticsError, match="eye"):
        Prism.from_angle(2.0, 40.0, "third")  # type: ignore[arg-type]  # refused on purpose
    with pytest.raises(OpticsError, match="point looked through"):
        prism_at(SphereCylinder(1.0), float("inf"), 0.0, "right")
