"""Smallest enclosing circles and parts beyond a circle, held against shapely."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.boxing import LensShape
from dispensing.optics.circles import (
    Circle,
    area_of_circle_within,
    farthest_from,
    parts_beyond,
    smallest_enclosing_circle,
)
from dispensing.optics.errors import OpticsError
from tests.optics.outline_strategies import places, shapes

clouds = st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=1, max_size=40)


@given(shapes)
def test_the_smallest_circle_around_a_shape_agrees_with_an_independent_library(shape: LensShape) -> None:
    circle = smallest_enclosing_circle(shape.points())
    assert circle.radius == pytest.approx(shapely.minimum_bounding_radius(shapely.Polygon(shape.points())), abs=1e-6)
    assert circle.clearance(shape.points()) == pytest.approx(0.0, abs=1e-9)


@given(clouds)
def test_the_smallest_circle_holds_every_point_and_is_no_larger_than_needed(cloud: list[tuple[float, float]]) -> None:
    points = np.array(cloud)
    circle = smallest_enclosing_circle(points)
    assert farthest_from(points, circle.x, circle.y)[0] <= circle.radius + 1e-9
    assert circle.radius <= shapely.minimum_bounding_radius(shapely.MultiPoint(points)) + 1e-7


@pytest.mark.parametrize(
    "points", [[(0, 0), (4, 0), (2, 0)], [(1, 1), (1, 1), (1, 1)], [(0, 0), (0, 6), (0, 3), (0, 1)]]
)
def test_points_in_a_line_or_on_top_of_each_other_have_a_smallest_circle_too(points: list[tuple[int, int]]) -> None:
    cloud = np.array(points, dtype=float)
    assert smallest_enclosing_circle(cloud).diameter == pytest.approx(np.ptp(cloud, axis=0).max())


@given(st.integers(36, 400), st.floats(-15.0, -2.0), st.randoms(use_true_random=False))
def test_points_nearly_on_one_circle_are_held_by_one_hardly_larger(count: int, power: float, rng: Any) -> None:
    little = 10.0**power
    radii = np.array([18.0 + little * rng.uniform(-1.0, 1.0) for _ in range(count)])
    points = LensShape(radii, "right").points()
    circle = smallest_enclosing_circle(points)
    assert circle.clearance(points) >= 0.0
    assert circle.radius <= shapely.minimum_bounding_radius(shapely.MultiPoint(points)) + 1e-6


def test_no_points_have_no_smallest_circle() -> None:
    with pytest.raises(OpticsError, match="at least one"):
        smallest_enclosing_circle(np.empty((0, 2)))


@given(shapes, places, st.floats(0.5, 30.0))
def test_the_part_of_a_circle_within_a_shape_agrees_with_an_independent_library(
    shape: LensShape, place: tuple[float, float], radius: float
) -> None:
    # A polygon of 4 × 512 corners stands for the circle; its area is short by 1.6e-6.
    disc = shapely.Point(*place).buffer(radius, quad_segs=512)
    expected = shapely.Polygon(shape.points()).intersection(disc).area
    assert area_of_circle_within(shape.points(), Circle(*place, radius)) == pytest.approx(expected, rel=5e-6, abs=1e-5)


@given(shapes, places, st.floats(10.0, 30.0))
def test_the_stretches_beyond_a_circle_are_as_long_as_an_independent_library_finds(
    shape: LensShape, place: tuple[float, float], radius: float
) -> None:
    ring = shapely.LinearRing(shape.points())
    expected = ring.length - ring.intersection(shapely.Point(*place).buffer(radius, quad_segs=2048)).length
    stretches = parts_beyond(shape.points(), Circle(*place, radius))
    found = sum(float(np.hypot(*np.diff(part, axis=0).T).sum()) for part in stretches)
    assert found == pytest.approx(expected, abs=0.05)


def test_the_ends_of_a_stretch_lie_on_the_circle() -> None:
    square = np.array([(10.0, -10.0), (10.0, 10.0), (-10.0, 10.0), (-10.0, -10.0)])
    stretches = parts_beyond(square, Circle(0.0, 0.0, 12.0))
    assert len(stretches) == 4
    for part in stretches:
        assert math.hypot(*part[0]) == pytest.approx(12.0)
        assert math.hypot(*part[-1]) == pytest.approx(12.0)


def test_an_outline_within_the_circle_has_no_stretch_beyond_and_one_without_is_all_beyond() -> None:
    square = np.array([(10.0, -10.0), (10.0, 10.0), (-10.0, 10.0), (-10.0, -10.0)])
    assert parts_beyond(square, Circle(0.0, 0.0, 15.0)) == []
    (whole,) = parts_beyond(square, Circle(0.0, 0.0, 0.0))
    assert np.array_equal(whole[0], whole[-1])
    assert len(whole) == 5
