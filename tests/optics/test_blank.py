"""Blank sizes: they match the drawn picture exactly, and a larger blank never makes a lens fit less well."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.blank import (
    Blank,
    blank_by_formula_mm,
    blank_needed_mm,
    choose_blank,
    cut_off,
    fit_of,
    prism_reference_point,
    smallest_fitting_blank,
)
from dispensing.optics.boxing import LensShape
from dispensing.optics.errors import OpticsError
from dispensing.optics.shape_families import assumed_shape
from tests.optics.outline_strategies import places, shapes

ROUND_50 = assumed_shape(50.0, 50.0, family="round")


def test_a_round_lens_of_50_mm_with_its_centre_in_the_middle_needs_a_blank_of_52_mm() -> None:
    assert blank_needed_mm(ROUND_50, (0.0, 0.0)) == pytest.approx(52.0, abs=1e-6)


def test_decentration_costs_twice_its_amount_on_a_round_lens() -> None:
    assert blank_needed_mm(ROUND_50, (3.0, 4.0)) == pytest.approx(62.0, abs=0.001)


def test_a_blank_decentred_by_the_maker_gives_back_what_the_decentration_costs() -> None:
    assert blank_needed_mm(ROUND_50, (3.0, 0.0), centre_in_mm=-3.0) == pytest.approx(52.0, abs=1e-6)


def test_the_prism_reference_point_of_a_progressive_lies_below_its_cross() -> None:
    assert prism_reference_point(3.5, 2.0, 4.0) == (3.5, -2.0)


@given(shapes, places)
def test_the_grown_shape_just_fits_the_blank_it_needs(shape: LensShape, middle: tuple[float, float]) -> None:
    needed = blank_needed_mm(shape, middle)
    # Drawn with 4 × 1024 sides to the circle, 1 mm of growth has an error of a millionth of a millimetre.
    grown = shapely.Polygon(shape.points_in_up()).buffer(1.0, quad_segs=1024)
    reach = max(np.hypot(x - middle[0], y - middle[1]) for x, y in grown.exterior.coords)
    assert needed / 2.0 == pytest.approx(reach, abs=1e-5)


@given(shapes, places)
def test_left_and_right_of_the_same_frame_need_the_same_blank(shape: LensShape, place: tuple[float, float]) -> None:
    assert blank_needed_mm(shape, place) == pytest.approx(blank_needed_mm(shape.mirrored(), place), abs=1e-9)


@given(shapes, places, st.floats(40.0, 90.0), st.floats(0.0, 20.0))
def test_a_larger_blank_never_stops_fitting(
    shape: LensShape, place: tuple[float, float], diameter: float, more: float
) -> None:
    if fit_of(Blank(diameter), shape, place).fits:
        assert fit_of(Blank(diameter + more), shape, place).fits


@given(shapes, places)
def test_no_layout_needs_less_than_the_smallest_circle_around_the_shape(
    shape: LensShape, place: tuple[float, float]
) -> None:
    outline = shapely.Polygon(shape.points_in_up())
    least = 2.0 * (shapely.minimum_bounding_radius(outline) + 1.0)
    middle = shapely.minimum_bounding_circle(outline).centroid
    assert blank_needed_mm(shape, place) >= least - 1e-6
    assert blank_needed_mm(shape, (middle.x, middle.y)) == pytest.approx(least, abs=0.01)


def test_a_shape_that_misses_the_blank_by_a_hundredth_does_not_fit_and_one_that_just_reaches_it_does() -> None:
    needed = blank_needed_mm(ROUND_50, (2.0, 0.0))
    assert fit_of(Blank(needed + 0.004), ROUND_50, (2.0, 0.0)).fits
    assert fit_of(Blank(needed - 0.004), ROUND_50, (2.0, 0.0)).fits  # equal once both are rounded to 0.01
    assert not fit_of(Blank(needed - 0.011), ROUND_50, (2.0, 0.0)).fits


def test_what_is_missing_lies_where_the_centre_is_farthest_from() -> None:
    missing = cut_off(ROUND_50, (4.0, 0.0), Blank(56.0))
    assert missing.missing_mm == pytest.approx(2.0, abs=1e-3)
    assert missing.worst_at == pytest.approx((-25.0, 0.0), abs=0.4)
    (stretch,) = missing.stretches
    assert np.allclose(np.hypot(stretch[[0, -1], 0] - 4.0, stretch[[0, -1], 1]), 27.0)
    assert stretch[:, 0].max() < 0.0


@given(shapes, places, st.floats(40.0, 90.0))
def test_something_is_missing_exactly_when_the_blank_is_too_small(
    shape: LensShape, place: tuple[float, float], diameter: float
) -> None:
    needed = blank_needed_mm(shape, place)
    missing = cut_off(shape, place, Blank(diameter))
    assert missing.missing_mm == pytest.approx(max((needed - diameter) / 2.0, 0.0), abs=1e-9)
    if abs(needed - diameter) > 1e-6:
        assert bool(missing.stretches) == (needed > diameter)


def test_the_smallest_blank_that_fits_is_chosen_with_its_own_layout() -> None:
    blanks = [Blank(75.0), Blank(65.0, centre_in_mm=-2.5), Blank(60.0), Blank(65.0)]
    fit = smallest_fitting_blank(blanks, ROUND_50, (5.0, 0.0))
    assert fit is not None
    assert fit.blank == Blank(65.0, centre_in_mm=-2.5)
    assert fit.needed_mm == pytest.approx(57.0, abs=0.001)


def test_no_blank_is_chosen_as_fitting_when_none_fits_but_the_least_short_is_shown() -> None:
    blanks = [Blank(50.0), Blank(55.0)]
    assert smallest_fitting_blank(blanks, ROUND_50, (5.0, 0.0)) is None
    shown = choose_blank(blanks, ROUND_50, (5.0, 0.0))
    assert shown.blank == Blank(55.0)
    assert shown.shortfall_mm == pytest.approx(7.0, abs=0.001)


def test_an_ordered_diameter_is_judged_with_the_layout_the_lab_lists_for_it() -> None:
    blanks = [Blank(70.0, centre_in_mm=-3.0), Blank(65.0)]
    assert choose_blank(blanks, ROUND_50, (3.0, 0.0), 70.0).needed_mm == pytest.approx(52.0, abs=0.001)
    assert choose_blank(blanks, ROUND_50, (3.0, 0.0), 72.0).blank == Blank(72.0)


def test_without_any_blank_there_is_nothing_to_choose() -> None:
    with pytest.raises(OpticsError, match="number of blanks"):
        choose_blank([], ROUND_50, (0.0, 0.0))


def test_the_handbook_formula_takes_the_shape_for_a_circle_of_its_ed() -> None:
    shape = assumed_shape(54.0, 40.0, 57.0)
    assert blank_by_formula_mm(57.0, 5.0) == 69.0
    assert blank_needed_mm(shape, (5.0, 0.0)) < 69.0
    assert blank_by_formula_mm(57.0, -5.0) == 69.0


@pytest.mark.parametrize("place", [(float("nan"), 0.0), (0.0, 500.0)])
def test_a_reference_point_that_is_nowhere_is_refused(place: tuple[float, float]) -> None:
    with pytest.raises(OpticsError, match=r"prism reference point|middle of the blank"):
        blank_needed_mm(ROUND_50, place)
