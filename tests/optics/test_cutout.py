"""The near circle and the room above the cross, compared with the drawn picture."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.boxing import LensShape
from dispensing.optics.cutout import clearance_above, near_circle_centre, zone_in_frame
from dispensing.optics.errors import OpticsError
from dispensing.optics.shape_families import assumed_shape
from tests.optics.outline_strategies import shapes

PANTO = assumed_shape(50.0, 42.0, family="panto")


def test_the_near_circle_lies_the_corridor_below_and_the_inset_nasal_of_the_cross() -> None:
    assert near_circle_centre(3.0, 2.0, 14.0, 2.5) == (5.5, -12.0)


def test_a_near_circle_well_inside_is_whole_with_its_distance_to_the_edge_as_margin() -> None:
    round_50 = assumed_shape(50.0, 50.0, family="round")
    zone = zone_in_frame(round_50, 3.0, -12.0, 4.0)
    assert zone.whole
    assert zone.margin_mm == pytest.approx(25.0 - math.hypot(3.0, 12.0) - 4.0, abs=0.01)
    assert zone.cut_share == 0.0


@given(shapes, st.floats(-20, 20), st.floats(-25, 10), st.floats(1.0, 6.0))
def test_the_share_cut_away_is_what_the_picture_shows(shape: LensShape, x: float, y: float, radius: float) -> None:
    disc = shapely.Point(x, y).buffer(radius, quad_segs=512)
    expected = 1.0 - shapely.Polygon(shape.points_in_up()).intersection(disc).area / disc.area
    assert zone_in_frame(shape, x, y, radius).cut_share == pytest.approx(expected, abs=5e-6)


@given(shapes, st.floats(-20, 20), st.floats(-25, 10), st.floats(1.0, 6.0))
def test_a_zone_is_whole_exactly_when_nothing_is_cut(shape: LensShape, x: float, y: float, radius: float) -> None:
    zone = zone_in_frame(shape, x, y, radius)
    if abs(zone.margin_mm) > 0.01:
        assert zone.whole == (zone.cut_share == 0.0)


def test_a_near_circle_on_the_cut_away_nose_side_of_a_pilot_frame_is_cut() -> None:
    pilot = assumed_shape(56.0, 46.0, family="pilot")
    assert not zone_in_frame(pilot, 14.0, -15.0, 4.0).whole
    assert zone_in_frame(pilot, -14.0, -13.0, 4.0).whole


@given(shapes, st.floats(-6, 6), st.floats(-5, 8))
def test_the_room_above_the_cross_is_the_lowest_edge_within_ten_millimetres(
    shape: LensShape, x: float, y: float
) -> None:
    polygon = shapely.Polygon(shape.points_in_up())
    low, _, high, _ = polygon.bounds
    columns = np.linspace(max(x - 10.0, low + 1e-9), min(x + 10.0, high - 1e-9), 101)
    tops = [polygon.intersection(shapely.LineString([(c, -60.0), (c, 60.0)])).bounds[3] for c in columns]
    # Columns 0.2 mm apart find the lowest place at an end exactly, and one between them within its own curve.
    assert min(tops) - y - 0.05 <= clearance_above(shape, x, y) <= min(tops) - y + 1e-6


def test_the_room_above_is_least_at_the_end_of_the_window_of_a_rounded_shape() -> None:
    round_50 = assumed_shape(50.0, 50.0, family="round")
    assert clearance_above(round_50, 2.0, 4.0) == pytest.approx(math.sqrt(25.0**2 - 12.0**2) - 4.0, abs=0.002)


def test_mirroring_the_frame_changes_neither_room_nor_margin() -> None:
    fellow = PANTO.mirrored()
    assert clearance_above(fellow, 3.0, 2.0) == pytest.approx(clearance_above(PANTO, 3.0, 2.0), abs=1e-9)
    assert zone_in_frame(fellow, 5.0, -14.0, 4.0).margin_mm == pytest.approx(
        zone_in_frame(PANTO, 5.0, -14.0, 4.0).margin_mm, abs=1e-9
    )


def test_a_cross_far_beside_the_frame_has_no_room_above_it() -> None:
    with pytest.raises(OpticsError, match="upright line"):
        clearance_above(PANTO, 40.0, 0.0)


def test_a_zone_without_size_is_refused() -> None:
    with pytest.raises(OpticsError, match="radius of the zone"):
        zone_in_frame(PANTO, 0.0, 0.0, 0.0)
