"""Assumed shapes: exactly the box asked for, the ED to within a hundredth, and an outline typical of the family."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dispensing.optics.errors import OpticsError
from dispensing.optics.shape_families import FAMILIES, assumed_shape


@given(st.sampled_from(FAMILIES), st.floats(40.0, 60.0), st.floats(25.0, 50.0), st.sampled_from(["right", "left"]))
def test_an_assumed_shape_has_exactly_the_box_asked_for(family: str, a: float, b: float, side: str) -> None:
    shape = assumed_shape(a, b, family=family, side=side)
    assert (shape.a_mm, shape.b_mm) == pytest.approx((a, b), abs=1e-8)
    assert shape.off_centre_in_up_mm == pytest.approx((0.0, 0.0), abs=1e-8)


@given(st.floats(40.0, 60.0), st.floats(25.0, 50.0), st.floats(0.0, 0.95))
def test_the_default_shape_reaches_any_ed_between_the_ellipse_and_the_rectangle(
    a: float, b: float, full: float
) -> None:
    ed = max(a, b) + full * (math.hypot(a, b) - max(a, b))
    shape = assumed_shape(a, b, ed)
    assert shape.ed_mm == pytest.approx(ed, abs=0.01)
    assert (shape.a_mm, shape.b_mm) == pytest.approx((a, b), abs=1e-8)


@given(st.floats(40.0, 60.0), st.floats(25.0, 50.0), st.floats(0.95, 1.0))
@settings(max_examples=20)
def test_an_ed_near_the_diagonal_gets_more_radii_and_comes_within_a_twentieth(a: float, b: float, full: float) -> None:
    ed = min(max(a, b) + full * (math.hypot(a, b) - max(a, b)), math.hypot(a, b))
    shape = assumed_shape(a, b, ed)
    assert shape.ed_mm == pytest.approx(ed, abs=0.05)
    assert (shape.a_mm, shape.b_mm) == pytest.approx((a, b), abs=1e-8)


@pytest.mark.parametrize("family", FAMILIES)
def test_every_family_reaches_an_ordinary_ed(family: str) -> None:
    assert assumed_shape(52.0, 38.0, 56.0, family).ed_mm == pytest.approx(56.0, abs=0.01)


def test_a_round_shape_with_equal_sides_is_a_circle() -> None:
    assert np.allclose(assumed_shape(46.0, 46.0, family="round").radii, 23.0, atol=1e-6)


def test_the_left_shape_is_the_mirror_image_of_the_right() -> None:
    right, left = assumed_shape(54.0, 44.0, family="pilot"), assumed_shape(54.0, 44.0, family="pilot", side="left")
    assert np.array_equal(right.mirrored().radii, left.radii)


def test_a_pilot_shape_is_cut_away_at_the_lower_nose() -> None:
    shape = assumed_shape(56.0, 48.0, family="pilot")
    assert shape.nearest_edge_distance(16.0, -16.0) < shape.nearest_edge_distance(-16.0, -16.0)


def test_a_cat_eye_is_widest_at_the_upper_temple() -> None:
    points = assumed_shape(54.0, 40.0, family="cat_eye").points_in_up()
    in_mm, up_mm = points[np.argmax(np.hypot(*points.T))]
    assert in_mm < 0.0 < up_mm


@pytest.mark.parametrize(
    ("a", "b", "ed", "family", "words"),
    [
        (52.0, 38.0, 51.0, "superellipse", "ED is 51.0 mm; allowed: 52 to"),
        (52.0, 38.0, 65.0, "superellipse", "ED is 65.0 mm; allowed: 52 to"),
        (52.0, 38.0, 55.0, "heart", "shape family is heart"),
        (5.0, 38.0, None, "round", "A is 5.0 mm"),
        (52.0, 38.0, 52.1, "rectangle", "at the nearest for a rectangle shape"),
    ],
)
def test_a_box_or_ed_that_no_shape_has_is_refused(
    a: float, b: float, ed: float | None, family: str, words: str
) -> None:
    with pytest.raises(OpticsError, match=words):
        assumed_shape(a, b, ed, family)


DRAWN = json.loads(Path(__file__).with_name("shape_families.json").read_text())
"""Radii in mm at 24 angles, and the ED, of a 52 × 40 right lens of each family, as they were looked at in a drawing."""


@pytest.mark.parametrize("family", FAMILIES)
def test_a_family_keeps_the_outline_that_it_was_drawn_with(family: str) -> None:
    shape = assumed_shape(52.0, 40.0, family=family, count=360)
    assert shape.radii[::15] == pytest.approx(DRAWN[family]["radii_mm"], abs=0.005)
    assert shape.ed_mm == pytest.approx(DRAWN[family]["ed_mm"], abs=0.005)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_wanted_ed_fills_the_corners_of_the_same_outline(family: str) -> None:
    wanted = DRAWN[family]["with_ed_mm"]
    shape = assumed_shape(52.0, 40.0, wanted, family, count=360)
    assert shape.radii[::15] == pytest.approx(DRAWN[family]["radii_with_ed_mm"], abs=0.02)


def test_the_names_of_drawn_families_are_those_that_exist() -> None:
    assert DRAWN.keys() == set(FAMILIES)
