"""Lens shapes in the boxing system, compared with shapely and with what is true of any frame."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.boxing import LensShape
from dispensing.optics.conventions import Eye
from dispensing.optics.errors import OpticsError
from dispensing.optics.outline import area_of
from dispensing.optics.shape_families import assumed_shape
from tests.optics.outline_strategies import places, shapes, wavy_shapes


def polygon(shape: LensShape) -> shapely.Polygon:
    return shapely.Polygon(shape.points_in_up())


def ellipse(a_mm: float, b_mm: float, count: int, side: Eye = "right") -> LensShape:
    angles = np.arange(count) * (2.0 * np.pi / count)
    return LensShape(1.0 / np.hypot(np.cos(angles) / (a_mm / 2), np.sin(angles) / (b_mm / 2)), side)


def test_the_first_radius_of_a_right_lens_points_to_the_nose() -> None:
    radii = np.full(36, 20.0)
    radii[0] = 25.0
    assert LensShape(radii, "right").points_in_up()[0] == pytest.approx([25.0, 0.0])


def test_the_first_radius_of_a_left_lens_points_to_the_temple() -> None:
    radii = np.full(36, 20.0)
    radii[0] = 25.0
    assert LensShape(radii, "left").points_in_up()[0] == pytest.approx([-25.0, 0.0])


def test_radii_run_counter_clockwise_so_that_a_quarter_turn_points_to_the_brow() -> None:
    for side in ("right", "left"):
        assert LensShape(np.full(36, 20.0), side).points_in_up()[9] == pytest.approx([0.0, 20.0])


def test_an_ellipse_has_the_box_the_ed_and_the_length_of_an_ellipse() -> None:
    shape = ellipse(52.0, 40.0, 36)
    assert (shape.a_mm, shape.b_mm, shape.ed_mm) == pytest.approx((52.0, 40.0, 52.0), abs=1e-12)
    assert shape.circumference_mm == pytest.approx(144.91, abs=0.005)
    assert area_of(ellipse(52.0, 40.0, 20_000).points()) == pytest.approx(np.pi * 26 * 20, rel=1e-7)


def test_the_radii_of_a_shape_cannot_be_written_to() -> None:
    shape = ellipse(52.0, 40.0, 36)
    with pytest.raises(ValueError, match="read-only"):
        shape.radii[0] = 1.0
    with pytest.raises(ValueError, match="read-only"):
        shape.points()[0, 0] = 1.0


@given(shapes)
def test_area_and_length_agree_with_an_independent_library(shape: LensShape) -> None:
    assert area_of(shape.points()) == pytest.approx(polygon(shape).area, rel=1e-12)
    assert shape.circumference_mm == pytest.approx(polygon(shape).length, rel=1e-12)


@given(shapes, st.floats(-35.0, 35.0), st.floats(-35.0, 35.0))
def test_distance_to_the_edge_and_inside_or_outside_agree_with_an_independent_library(
    shape: LensShape, x: float, y: float
) -> None:
    point = shapely.Point(x, y)
    distance = polygon(shape).exterior.distance(point)
    signed = distance if polygon(shape).contains(point) else -distance
    assert shape.nearest_edge_distance(x, y) == pytest.approx(signed, abs=1e-9)


@given(shapes, st.floats(-0.95, 0.95))
def test_the_edge_above_and_below_agrees_with_an_independent_library(shape: LensShape, share: float) -> None:
    points = shape.points_in_up()
    x = float(share * (points[:, 0].max() if share > 0 else -points[:, 0].min()))
    cut = polygon(shape).intersection(shapely.LineString([(x, -99.0), (x, 99.0)]))
    assert shape.heights_at(x) == pytest.approx((cut.bounds[1], cut.bounds[3]), abs=1e-9)


@given(shapes)
def test_mirroring_a_shape_gives_the_fellow_eye_and_mirroring_twice_gives_it_back(shape: LensShape) -> None:
    fellow = shape.mirrored()
    assert fellow.side != shape.side
    assert np.allclose(polygon(fellow).symmetric_difference(polygon(shape)).area, 0.0, atol=1e-9)
    assert np.array_equal(fellow.mirrored().radii, shape.radii)


def test_a_shape_with_an_odd_number_of_radii_is_mirrored_too() -> None:
    shape = LensShape(np.linspace(20.0, 24.0, 41), "right").recentred()
    fellow = shape.mirrored()
    assert (fellow.a_mm, fellow.b_mm) == pytest.approx((shape.a_mm, shape.b_mm), abs=1e-8)
    assert area_of(fellow.points()) == pytest.approx(area_of(shape.points()), rel=0.01)


@given(shapes, st.integers(36, 500))
def test_a_shape_read_at_other_angles_keeps_its_box(shape: LensShape, count: int) -> None:
    read_anew = shape.resampled(count)
    assert read_anew.count == count
    assert read_anew.box == pytest.approx(shape.box, abs=1e-8)


@given(wavy_shapes())
def test_a_shape_read_at_twice_the_angles_is_the_same_outline(shape: LensShape) -> None:
    read_anew = shape.resampled(2 * shape.count)
    assert np.allclose(read_anew.radii[::2], shape.radii, atol=1e-8)
    assert area_of(read_anew.points()) == pytest.approx(area_of(shape.points()), rel=1e-9)


@given(wavy_shapes(smallest_count=120))
def test_a_trace_whose_origin_is_off_the_boxed_centre_is_recentred(shape: LensShape) -> None:
    centred = shape.recentred()
    assert centred.off_centre_in_up_mm == pytest.approx((0.0, 0.0), abs=1e-8)
    assert (centred.a_mm, centred.b_mm) == pytest.approx((shape.a_mm, shape.b_mm), abs=1e-8)
    assert area_of(centred.points()) == pytest.approx(area_of(shape.points()), rel=2e-3)


@given(shapes, places)
def test_many_points_are_judged_like_single_ones(shape: LensShape, place: tuple[float, float]) -> None:
    xs = place[0] + np.linspace(-25.0, 25.0, 7)
    ys = np.full(7, place[1])
    assert list(shape.contains(xs, ys)) == [bool(shape.contains(float(x), place[1])) for x in xs]


@pytest.mark.parametrize(
    ("radii", "side", "words"),
    [
        ([20.0] * 35, "right", "number of radii is 35"),
        ([20.0] * 36, "both", "right or left"),
        ([20.0] * 35 + [-1.0], "right", "radius 36 of the shape is -1.0 mm"),
        ([20.0] * 35 + [float("nan")], "left", "radius 36 of the shape is nan mm"),
        ([120.0] + [20.0] * 35, "left", "radius 1 of the shape is 120.0 mm"),
    ],
)
def test_an_impossible_shape_is_refused_in_words(radii: list[float], side: str, words: str) -> None:
    with pytest.raises(OpticsError, match=words):
        LensShape(radii, side)  # type: ignore[arg-type]  # refused on purpose


def test_an_outline_that_cannot_be_seen_whole_from_its_boxed_centre_is_refused() -> None:
    # An L: from the middle of its box the inner corner hides part of the foot.
    angles = np.radians(np.arange(72) * 5.0)
    foot = np.where(np.cos(angles) > 0.97, 60.0, 6.0)
    with pytest.raises(OpticsError, match="one radius at every angle"):
        LensShape(np.where(np.sin(angles) > 0.97, 60.0, foot), "right").recentred()


def test_a_line_beside_the_shape_has_no_heights() -> None:
    with pytest.raises(OpticsError, match="where the shape is"):
        assumed_shape(52.0, 38.0).heights_at(27.0)


def test_a_circle_traced_from_beside_its_centre_is_the_same_circle_from_its_centre() -> None:
    angles = np.radians(np.arange(720) * 0.5)
    beside_in, beside_up = 2.0, -1.5
    along = beside_in * np.cos(angles) + beside_up * np.sin(angles)
    radii = along + np.sqrt(along**2 + 24.0**2 - beside_in**2 - beside_up**2)
    assert np.allclose(LensShape(radii, "right").recentred().radii, 24.0, atol=0.01)
