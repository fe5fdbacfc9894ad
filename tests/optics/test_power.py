"""One power, many notations."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given

from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from dispensing.optics.power_vector import (
    PowerVector,
    matrices_of,
    powers_along,
    sphero_cylinders_of,
    vectors_of,
)
from tests.optics.lens_strategies import axes, powers


@given(powers)
def test_transposing_twice_gives_the_prescription_back(power: SphereCylinder) -> None:
    twice = power.transposed().transposed()
    assert (twice.sphere, twice.cylinder, twice.axis) == pytest.approx((power.sphere, power.cylinder, power.axis))
    assert power.transposed().cylinder == -power.cylinder


@given(powers)
def test_both_notations_are_one_power(power: SphereCylinder) -> None:
    assert power.distance_to(power.transposed()) < 1e-12
    assert power.in_minus_cylinder().cylinder <= 0.0 <= power.in_plus_cylinder().cylinder
    assert power.mean_sphere == pytest.approx(power.transposed().mean_sphere)


@given(powers, powers)
def test_crossed_lenses_add_the_same_in_either_order(first: SphereCylinder, second: SphereCylinder) -> None:
    assert (first + second).distance_to(second + first) < 1e-12
    assert (first + second - second).distance_to(first) < 1e-9


@given(powers, powers)
def test_power_matrix_and_power_vector_agree(first: SphereCylinder, second: SphereCylinder) -> None:
    assert SphereCylinder.from_matrix(first.matrix()).distance_to(SphereCylinder.from_vector(first.vector())) < 1e-12
    assert (first + second).matrix() == pytest.approx(first.matrix() + second.matrix(), abs=1e-9)


@given(powers, axes)
def test_the_matrix_gives_the_power_along_every_meridian(power: SphereCylinder, meridian: float) -> None:
    along = np.array([math.cos(math.radians(meridian)), math.sin(math.radians(meridian))])
    assert along @ power.matrix() @ along == pytest.approx(power.power_along(meridian), abs=1e-9)


@given(powers)
def test_principal_powers_are_the_eigenvalues_of_the_matrix(power: SphereCylinder) -> None:
    found = sorted(principal.power for principal in power.principal_powers())
    assert found == pytest.approx(np.linalg.eigvalsh(power.matrix()), abs=1e-9)
    for principal in power.principal_powers():
        assert power.power_along(principal.meridian_deg) == pytest.approx(principal.power, abs=1e-9)


@given(powers)
def test_mirroring_twice_gives_the_lens_back_and_once_turns_the_matrix_over(power: SphereCylinder) -> None:
    assert power.mirrored().mirrored().distance_to(power) < 1e-12
    flip = np.diag([-1.0, 1.0])
    assert power.mirrored().matrix() == pytest.approx(flip @ power.matrix() @ flip, abs=1e-12)


@given(powers, powers)
def test_distance_between_prescriptions_is_the_same_both_ways(first: SphereCylinder, second: SphereCylinder) -> None:
    assert first.distance_to(second) == pytest.approx(second.distance_to(first))
    assert first.distance_to(first) == 0.0


def test_many_lenses_at_once_agree_with_one_at_a_time() -> None:
    lenses = [SphereCylinder(-3.25, -1.0, 170), SphereCylinder(2.0, 0.75, 5), SphereCylinder(0.0, 0.0, 180)]
    s, c, a = (np.array([getattr(lens, name) for lens in lenses]) for name in ("sphere", "cylinder", "axis"))
    m, j0, j45 = vectors_of(s, c, a)
    back = sphero_cylinders_of(m, j0, j45)
    for i, lens in enumerate(lenses):
        assert (m[i], j0[i], j45[i]) == pytest.approx((lens.vector().m, lens.vector().j0, lens.vector().j45))
        assert matrices_of(s, c, a)[i] == pytest.approx(lens.matrix())
        assert powers_along(s, c, a, 30.0)[i] == pytest.approx(lens.power_along(30.0))
        assert SphereCylinder(*(float(part[i]) for part in back)).distance_to(lens) < 1e-12
    assert (back[1] <= 0.0).all()


def test_axis_zero_is_kept_as_180_and_a_minus_one_eighty_never_appears() -> None:
    assert SphereCylinder(-1.0, -0.5, 0.0).axis == 180.0
    assert SphereCylinder.from_vector(SphereCylinder(-1.0, -0.5, 180).vector()).axis == 180.0
    assert SphereCylinder(-1.0, -0.5, 180).mirrored().axis == 180.0
    assert SphereCylinder(-1.0, -0.5, 90).transposed().axis == 180.0


def test_a_prescription_may_leave_its_cylinder_out_but_not_the_axis_of_one() -> None:
    assert SphereCylinder.written(-2.0) == SphereCylinder(-2.0, 0.0, 180.0)
    assert SphereCylinder.written(-2.0, 0.0, None) == SphereCylinder(-2.0)
    with pytest.raises(OpticsError, match=r"axis is missing.*A cylinder needs its axis"):
        SphereCylinder.written(-2.0, -0.5, None)
    with pytest.raises(OpticsError, match="sphere"):
        SphereCylinder.written(None, -0.5, 90)


@pytest.mark.parametrize(
    ("arguments", "quantity", "unit"),
    [
        ((float("nan"), 0.0, 180.0), "sphere", "D"),
        ((1.0, float("inf"), 180.0), "cylinder", "D"),
        ((1.0, -1.0, 181.0), "axis", "deg"),
        ((1.0, -1.0, -1.0), "axis", "deg"),
        ((250.0, -1.0, 90.0), "sphere", "D"),
        ((None, -1.0, 90.0), "sphere", "D"),
        (("one", -1.0, 90.0), "sphere", "D"),
    ],
)
def test_an_impossible_power_is_refused_by_name(arguments: tuple[float, ...], quantity: str, unit: str) -> None:
    with pytest.raises(OpticsError) as refused:
        SphereCylinder(*arguments)
    assert refused.value.quantity == quantity
    assert refused.value.unit == unit
    assert refused.value.allowed in str(refused.value)


def test_no_nan_enters_through_a_vector_a_matrix_or_an_array() -> None:
    with pytest.raises(OpticsError, match="power vector J0"):
        PowerVector(1.0, float("nan"), 0.0)
    with pytest.raises(OpticsError):
        SphereCylinder.from_matrix([[1.0, float("nan")], [0.0, 1.0]])
    with pytest.raises(OpticsError, match="2 x 2"):
        SphereCylinder.from_matrix([1.0, 2.0])
    with pytest.raises(OpticsError, match="sphere"):
        vectors_of([1.0, float("nan")], [0.0, 0.0], [180.0, 180.0])
