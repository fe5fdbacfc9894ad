"""Circles and a shape: the part within it and the stretches beyond, compared with shapely."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.boxing import LensShape
from dispensing.optics.circles import (
    Circle,
    area_of_circle_within,
    parts_beyond,
)
from tests.optics.outline_strategies import places, shapes


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
