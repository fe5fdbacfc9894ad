"""How high a progressive lens must be fitted for the frame to leave exactly the whole near circle."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Polygon

from dispensing.optics.boxing import LensShape
from dispensing.optics.cutout import near_circle_centre, zone_in_frame
from dispensing.optics.errors import OpticsError
from dispensing.optics.fitting_height import lowest_centre, minimum_fitting_height
from dispensing.optics.shape_families import assumed_shape
from tests.optics.outline_strategies import shapes

ROUND_40 = LensShape([20.0] * 720, "right")
PROGRESSIVE = {"corridor_mm": 14.0, "near_inset_mm": 2.5, "near_zone_radius_mm": 4.0}


def test_in_a_round_lens_the_near_circle_may_come_as_low_as_the_radii_differ() -> None:
    assert lowest_centre(ROUND_40, 0.0, 4.0) == pytest.approx(-16.0, abs=0.001)
    assert lowest_centre(ROUND_40, 9.6, 4.0) == pytest.approx(-12.8, abs=0.001)


def test_the_height_is_corridor_and_near_circle_above_the_lowest_point() -> None:
    height = minimum_fitting_height(ROUND_40, -2.5, **PROGRESSIVE)
    assert height == pytest.approx(14.0 + 4.0, abs=0.001)
    further_in = minimum_fitting_height(ROUND_40, 7.1, **PROGRESSIVE)
    assert further_in == pytest.approx(14.0 + 20.0 - 12.8, abs=0.001)


def test_a_margin_inside_the_edge_costs_its_own_height_at_least() -> None:
    shape = assumed_shape(52.0, 38.0, 55.0, "pilot")
    bare = minimum_fitting_height(shape, 3.0, **PROGRESSIVE)
    assert minimum_fitting_height(shape, 3.0, inside_mm=2.0, **PROGRESSIVE) >= bare + 2.0 - 1e-9


@given(st.floats(-4.0, 8.0))
def test_at_the_minimum_height_the_near_circle_just_touches_the_edge_and_below_it_is_cut(cross_in: float) -> None:
    shape = assumed_shape(52.0, 38.0, 55.0, "cat_eye")
    height = minimum_fitting_height(shape, cross_in, **PROGRESSIVE)

    def margin(lower_by: float) -> float:
        cross_up = height - shape.b_mm / 2.0 - lower_by
        return zone_in_frame(shape, *near_circle_centre(cross_in, cross_up, 14.0, 2.5), 4.0).margin_mm

    assert margin(0.0) == pytest.approx(0.0, abs=1e-9)
    assert margin(0.01) < 0.0


@given(shapes, st.floats(-0.6, 0.6), st.floats(1.0, 6.0))
def test_the_lowest_centre_agrees_with_an_independent_library(shape: LensShape, share: float, radius: float) -> None:
    across = share * shape.a_mm / 2.0
    lowest, highest = shape.heights_at(across)
    inner = Polygon(shape.points_in_up()).buffer(-radius, quad_segs=256)
    free = inner.intersection(LineString([(across, lowest), (across, highest)]))
    if free.is_empty or free.length < 0.05:
        return
    assert lowest_centre(shape, across, radius) == pytest.approx(free.bounds[1], abs=0.01)


def test_a_circle_too_large_for_the_shape_has_no_height() -> None:
    with pytest.raises(OpticsError, match="small enough for the shape"):
        lowest_centre(ROUND_40, 0.0, 20.5)
