"""Several photos of one wearer: a side photo helps every front photo and is counted once."""

from __future__ import annotations

import json
from typing import Any

import pytest

from dispensing.fitting.documents import Fitting, FittingPoints, parse_points
from dispensing.fitting.measure import measure
from dispensing.fitting.several import measure_sheet, put_together
from tests.fitting.marks import good_points, spoilt
from tests.fitting.simulate import Wearer


def only(view: str, **scene: Any) -> FittingPoints:
    other = {"front": "side", "side": "front"}[view]
    return parse_points(json.dumps(good_points(**scene) | {other: None}))


def together(*documents: FittingPoints) -> Fitting:
    return measure_sheet(documents).fitting


def test_a_front_photo_is_measured_with_the_side_photo_s_vertex_distance() -> None:
    deep = {"wearer": Wearer(vertex_mm=18.0)}
    alone = measure(only("front", **deep))
    helped = together(only("front", **deep), only("side", **deep))
    assert helped.right.vertex_mm is not None
    assert helped.right.vertex_mm.value == pytest.approx(18.0, abs=0.05)
    assert helped.right.pd_mm is not None
    assert helped.right.pd_mm.value == pytest.approx(31.5, abs=0.02)
    assert alone.right.pd_mm is not None
    assert alone.right.pd_mm.value < 31.4


def test_two_front_photos_share_a_side_photo_and_its_figures_keep_their_plus_minus() -> None:
    front, side = only("front"), only("side")
    one, two = together(front, side), together(front, front, side)
    assert two.pantoscopic_deg == one.pantoscopic_deg
    assert two.left.vertex_mm == one.left.vertex_mm
    assert two.right.pd_mm is not None
    assert one.right.pd_mm is not None
    assert two.right.pd_mm.plus_minus < one.right.pd_mm.plus_minus


def test_side_photos_beyond_the_front_photos_count_by_themselves() -> None:
    side = only("side")
    groups = put_together([side, only("front"), side, side], [1, 2, 3, 4])
    assert [group.numbers for group in groups] == [(2, 1), (3,), (4,)]
    assert [group.points.front is None for group in groups] == [False, True, True]
    assert all(group.points.side is not None for group in groups)
    assert not any(group.lent_side for group in groups)


def test_a_front_photo_without_a_side_photo_of_its_own_borrows_the_first_and_leaves_its_figures_there() -> None:
    first, second = only("side"), only("side", wearer=Wearer(vertex_mm=17.0))
    groups = put_together([only("front")] * 3 + [first, second], [1, 2, 3, 4, 5])
    assert [group.numbers for group in groups] == [(1, 4), (2, 5), (3,)]
    assert [group.points.side for group in groups] == [first.side, second.side, first.side]
    assert [group.lent_side for group in groups] == [False, False, True]


def test_side_photos_alone_tell_tilt_and_vertex_distance() -> None:
    fitting = together(only("side"))
    assert fitting.pantoscopic_deg is not None
    assert fitting.right.pd_mm is None


def test_one_document_alone_is_measured_as_it_says() -> None:
    points = parse_points(json.dumps(good_points()))
    assert together(points) == measure(points)


def test_nothing_can_be_measured_of_no_document() -> None:
    with pytest.raises(ValueError, match="Nothing is marked"):
        measure_sheet(())


def test_a_reason_names_the_photos_it_holds_for_unless_it_holds_for_all() -> None:
    def lens_missing(points: dict[str, Any]) -> None:
        points["front"]["right"]["pupil"] = None

    sound, half = only("front"), parse_points(json.dumps(spoilt(lens_missing, with_side=False)))
    missing = "the right pupil mark is missing on the front photo: mark it"
    assert f"Photo 2: {missing}" in together(sound, half).retake
    assert missing in together(half, half).retake
    assert missing in together(half).retake
    # What is only to be marked is no reason to take anything again.
    for found in (together(sound, half), together(half, half), together(half)):
        assert found.told("to_mark") == found.retake
        assert found.take_again == ()


def test_what_a_shared_side_photo_makes_doubtful_is_said_once() -> None:
    def too_deep(points: dict[str, Any]) -> None:
        points["side"]["cornea"][0] += 60.0

    side = parse_points(json.dumps(spoilt(too_deep) | {"front": None}))
    doubted = measure_sheet([only("front"), only("front"), side]).doubted
    assert [(one.whose, [figure.figure for figure in one.unlikely]) for one in doubted] == [
        ("Photos 1 and 3", ["vertex_mm"])
    ]


def test_the_figures_of_a_front_photo_stay_with_their_eyes_when_it_borrows_a_side_photo() -> None:
    uneven = {"wearer": Wearer(pd_right_mm=30.0, pd_left_mm=33.0, height_right_mm=21.0, height_left_mm=23.5)}
    front, side = only("front", **uneven), only("side", **uneven)
    found = together(front, front, side)
    for eye, pd, height in (("right", 30.0, 21.0), ("left", 33.0, 23.5)):
        figures = getattr(found, eye)
        assert figures.pd_mm.value == pytest.approx(pd, abs=0.1)
        assert figures.height_mm.value == pytest.approx(height, abs=0.3)
