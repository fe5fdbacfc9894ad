"""Surfaces: exact sag compared with the exam form, tooling curves, vertex powers, the toric back, base curves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from dispensing.optics.base_curve import BaseCurve, BaseCurveRow, base_curve, from_table
from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from dispensing.optics.surface import (
    forwarded,
    sag,
    toric_back,
    toric_sag,
    true_from_marked,
)
from tests.optics.handbook import sag_approximate
from tests.optics.lens_strategies import axes

indices = st.floats(1.45, 1.9)
curvatures = st.floats(-0.02, 0.02)
distances = st.floats(0.0, 35.0)


@given(curvatures, distances)
def test_a_point_of_a_sphere_lies_its_radius_from_the_centre(curvature: float, distance: float) -> None:
    depth = float(sag(curvature, distance**2))
    # c (y² + z²) = 2 z for a sphere through its apex, also for a plane.
    assert curvature * (distance**2 + depth**2) == pytest.approx(2.0 * depth, abs=1e-12)


@given(st.floats(0.001, 0.02), distances)
def test_the_exam_sag_is_short_of_the_exact_one(curvature: float, distance: float) -> None:
    power = 1000.0 * 0.5 * curvature
    assert sag_approximate(power, 1.5, distance) <= float(sag(curvature, distance**2)) + 1e-12


@given(st.floats(0.0005, 0.015), st.floats(0.0, 0.01), st.floats(-24.0, 24.0), st.floats(-24.0, 24.0))
def test_a_point_of_a_torus_lies_on_the_swept_circle(flat: float, more: float, x: float, y: float) -> None:
    steep = flat + more
    z = float(toric_sag(flat, steep, np.array(x * x), np.array(y * y)))
    # About the axis of the sweep the point is as far out as the swept circle is at its height y.
    axis = 1.0 / flat
    circle = 1.0 / steep - math.sqrt(1.0 / steep**2 - y * y)
    assert math.hypot(axis - z, x) == pytest.approx(axis - circle, rel=1e-12)


@given(curvatures, st.floats(-24.0, 24.0), st.floats(-24.0, 24.0))
def test_a_torus_with_equal_curves_is_a_sphere(curvature: float, x: float, y: float) -> None:
    torus = float(toric_sag(curvature, curvature, np.array(x * x), np.array(y * y)))
    assert torus == pytest.approx(float(sag(curvature, x * x + y * y)), abs=1e-12)


def test_a_torus_with_a_plano_meridian_is_a_cylinder() -> None:
    torus = toric_sag(0.0, 0.01, np.array([400.0, 0.0]), np.array([0.0, 400.0]))
    assert torus == pytest.approx([0.0, 100.0 - math.sqrt(100.0**2 - 20.0**2)])


def test_where_a_surface_does_not_reach_there_is_no_sag() -> None:
    with pytest.raises(OpticsError, match="distance of the edge"):
        sag(1 / 20.0, 20.0**2)
    with pytest.raises(OpticsError, match="distance of the edge"):
        toric_sag(0.01, 0.04, np.array(0.0), np.array(26.0**2))
    with pytest.raises(OpticsError, match="distance of the edge"):
        toric_sag(0.03, 0.03, np.array(30.0**2), np.array(20.0**2))


@given(st.floats(-20, 20), indices, indices)
def test_a_curve_read_in_one_index_and_another_is_the_same_curve(curve: float, index: float, other: float) -> None:
    assert true_from_marked(true_from_marked(curve, index), other, index) == pytest.approx(
        true_from_marked(curve, other)
    )


def test_a_six_curve_has_a_radius_of_530_over_six_whatever_the_material() -> None:
    for index in (1.5, 1.67):
        # The back surface that undoes the front in a lens without thickness has the front's own curve.
        curvature, _ = toric_back(SphereCylinder(0.0), true_from_marked(6.0, index), 0.0, index).curvatures
        assert curvature == pytest.approx(6.0 / 530.0)


@given(st.floats(-15, 15), st.floats(0, 12), st.floats(0.5, 9.0), indices)
def test_the_back_surface_found_for_a_power_gives_that_power(
    power: float, front: float, thickness: float, index: float
) -> None:
    back = toric_back(SphereCylinder(power), front, thickness, index)
    # The handbook's back vertex power, its front vergence stepped along t/n.
    at_back = front / (1.0 - thickness / 1000.0 / index * front)
    assert at_back + back.along_d == pytest.approx(power, abs=1e-12)
    assert back.along_d == back.across_d


@given(st.floats(-8, 6), st.floats(-4, 4), axes, st.floats(0.0, 15.0), st.floats(0.0, 15.0))
def test_the_toric_back_of_a_power_and_of_its_transposition_is_the_same_surface(
    sphere: float, cylinder: float, axis: float, x: float, y: float
) -> None:
    # A saddle that is as steep one way as the other has no flatter meridian: rounding decides which circle is swept.
    assume(abs(abs(sphere - 6.0) - abs(sphere + cylinder - 6.0)) > 1e-9)
    power = SphereCylinder(sphere, cylinder, axis)
    one, other = toric_back(power, 6.0, 3.0, 1.6), toric_back(power.transposed(), 6.0, 3.0, 1.6)
    assert float(one.sag_at(x, y)) == pytest.approx(float(other.sag_at(x, y)), abs=1e-9)


def test_the_back_is_steepest_across_the_axis_of_a_minus_cylinder() -> None:
    back = toric_back(SphereCylinder(-2.0, -2.0, 180.0), 4.0, 2.0, 1.5)
    assert float(back.sag_at(0.0, 20.0)) > float(back.sag_at(20.0, 0.0))


def test_light_that_focuses_within_the_lens_is_refused() -> None:
    with pytest.raises(OpticsError, match="centre thickness"):
        forwarded(60.0, 26.0, 1.5)


TABLE = (BaseCurveRow(-10.0, -4.0, 2.0), BaseCurveRow(-4.0, 2.0, 4.0), BaseCurveRow(2.0, 8.0, 6.0))


@pytest.mark.parametrize(("mean_sphere", "curve"), [(-10.0, 2.0), (-4.0, 2.0), (-3.99, 4.0), (2.0, 4.0), (8.0, 6.0)])
def test_the_first_row_holds_on_a_boundary_two_rows_share(mean_sphere: float, curve: float) -> None:
    assert from_table(TABLE, mean_sphere) == curve


def test_the_ordered_curve_goes_before_the_table_and_the_table_before_the_rule_of_thumb() -> None:
    assert base_curve(-3.0, TABLE, 5.0) == BaseCurve(5.0, "order")
    assert base_curve(-3.0, TABLE) == BaseCurve(4.0, "catalogue")
    assert base_curve(9.0, TABLE) == BaseCurve(15.0, "vogel")
    assert base_curve(-3.0) == BaseCurve(4.5, "vogel")


@pytest.mark.parametrize("ordered", [float("nan"), 90.0])
def test_a_curve_no_front_has_is_refused(ordered: float) -> None:
    with pytest.raises(OpticsError, match="ordered base curve"):
        base_curve(0.0, TABLE, ordered)
