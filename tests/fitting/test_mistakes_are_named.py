"""Marks that make a photo useless are named in plain words, and nothing is measured on a useless photo."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.fitting.marks import figures, good_points, measured, spoilt
from tests.fitting.simulate import Camera, Pose, Wearer


def reasons(points: dict[str, Any]) -> str:
    return " / ".join(figures(points)["retake"])


def test_well_marked_photos_give_no_reason_to_take_them_again() -> None:
    found = figures(good_points())
    assert found["retake"] == []
    assert found["unlikely"] == []


def outside(points: dict[str, Any]) -> None:
    points["front"]["right"]["pupil"] = [4010.0, 1500.0]


def exchanged(points: dict[str, Any]) -> None:
    front = points["front"]
    front["right"], front["left"] = front["left"], front["right"]


def nasal_is_temporal(points: dict[str, Any]) -> None:
    box = points["front"]["right"]
    box["nasal"], box["temporal"] = box["temporal"], box["nasal"]


def upside_down(points: dict[str, Any]) -> None:
    box = points["front"]["left"]
    box["top"], box["bottom"] = box["bottom"], box["top"]


def overlapping(points: dict[str, Any]) -> None:
    points["front"]["right"]["nasal"][0] = points["front"]["left"]["nasal"][0] + 20


def pupil_of_the_other_eye(points: dict[str, Any]) -> None:
    points["front"]["right"]["pupil"] = points["front"]["left"]["pupil"]


def pupils_exchanged(points: dict[str, Any]) -> None:
    right, left = points["front"]["right"], points["front"]["left"]
    right["pupil"], left["pupil"] = left["pupil"], right["pupil"]


def bent_beyond_belief(points: dict[str, Any]) -> None:
    points["front"]["face_form_deg"] = 50.0


def card_longer_than_face(points: dict[str, Any]) -> None:
    points["front"]["scale"] = {"by": "card", "ends": [[1000, 2500], [3000, 2500]], "in_front_of_lens_plane_mm": 10}


def side_as_front(points: dict[str, Any]) -> None:
    points["front"]["left"]["temporal"][0] = points["front"]["left"]["nasal"][0] + 90


def both_lenses_narrow(points: dict[str, Any]) -> None:
    for eye, inwards in (("right", 1), ("left", -1)):
        box = points["front"][eye]
        box["nasal"][0] = box["pupil"][0] + inwards * 40
        box["temporal"][0] = box["pupil"][0] - inwards * 40


def card_ends_together(points: dict[str, Any]) -> None:
    points["front"]["scale"] = {"by": "card", "ends": [[1000, 2500], [1000, 2500]], "in_front_of_lens_plane_mm": 10}


def no_length(points: dict[str, Any]) -> None:
    points["front"]["scale"] = {"by": "length", "ends": [[1000, 2500], [1500, 2500]], "length_mm": -3}


def negative_focal(points: dict[str, Any]) -> None:
    points["front"]["focal_px"] = -3300


@pytest.mark.parametrize(
    ("mistake", "named"),
    [
        (outside, "right pupil mark at (4010, 1500) lies outside the photo of 4000 by 3000 px"),
        (exchanged, "right and left eyes are exchanged"),
        (nasal_is_temporal, "nasal and temporal of the right box are exchanged"),
        (upside_down, "top and bottom of the left box are exchanged"),
        (overlapping, "the two boxes overlap"),
        (pupil_of_the_other_eye, "right pupil mark lies beside the right box"),
        (pupils_exchanged, "the right and left pupil marks are exchanged"),
        (bent_beyond_belief, "the face form is 50°; possible is -10 to 35°"),
        (card_longer_than_face, "the card is marked 2000 px long, longer than the face"),
        (side_as_front, "side photo used as the front"),
        (both_lenses_narrow, "much narrower than it is deep"),
        (card_ends_together, "both ends of the known length are marked at the same place"),
        (no_length, "the known length of the scale is -3 mm"),
        (negative_focal, "focal_px is -3300"),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_a_mistake_on_the_front_photo_is_named_and_nothing_is_measured_from_it(mistake: Any, named: str) -> None:
    found = figures(spoilt(mistake))
    assert named in " / ".join(found["retake"])
    assert found["right"]["pd_mm"] is None
    assert found["dbl_mm"] is None
    assert found["pantoscopic_deg"] is not None  # the side photo is not to blame


def rims_exchanged(points: dict[str, Any]) -> None:
    side = points["side"]
    side["rim_top"], side["rim_bottom"] = side["rim_bottom"], side["rim_top"]


def front_as_side(points: dict[str, Any]) -> None:
    points["side"]["rim_bottom"] = [points["side"]["rim_top"][0] + 600, points["side"]["rim_top"][1] + 100]


def steep_level(points: dict[str, Any]) -> None:
    points["side"]["level"] = [[1000, 100], [1100, 3000]]


def frame_as_side_scale(points: dict[str, Any]) -> None:
    points["side"]["scale"] = {"by": "frame", "a_mm": 52, "dbl_mm": 18}


@pytest.mark.parametrize(
    ("mistake", "named"),
    [
        (rims_exchanged, "rim top and rim bottom are exchanged"),
        (front_as_side, "does not look like a photo from the side"),
        (steep_level, "the level line is far from level"),
        (frame_as_side_scale, "A and DBL cannot be seen from the side"),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_a_mistake_on_the_side_photo_is_named_and_the_front_photo_still_measures(mistake: Any, named: str) -> None:
    found = figures(spoilt(mistake))
    assert named in " / ".join(found["retake"])
    assert found["pantoscopic_deg"] is None
    assert found["right"]["vertex_mm"] is None
    assert found["right"]["pd_mm"]["value"] == pytest.approx(31.5, abs=0.05)


def test_a_turned_head_is_a_reason_once_the_marks_show_it_surely() -> None:
    assert "the head is turned 8.0° to the wearer's left" in reasons(good_points(pose=Pose(turn_deg=8.0)))
    assert "turned" not in reasons(good_points(pose=Pose(turn_deg=2.0)))


def test_a_leaning_frame_is_a_reason_only_beyond_six_degrees_for_it_is_taken_out() -> None:
    assert "leans 6.5°" in reasons(good_points(pose=Pose(roll_deg=6.5)))
    leaning = good_points(pose=Pose(roll_deg=5.9))
    assert "leans" not in reasons(leaning)
    assert figures(leaning)["right"]["pd_mm"]["value"] == pytest.approx(31.5, abs=1e-6)


def test_a_camera_far_above_the_eyes_or_too_near_is_a_reason() -> None:
    assert "120 mm above the eyes' level" in reasons(good_points(camera=Camera(distance_mm=600, above_mm=120)))
    assert "120 mm beside the bridge" in reasons(good_points(camera=Camera(distance_mm=600, aside_mm=-120)))
    assert "only 250 mm from the frame" in reasons(good_points(camera=Camera(distance_mm=250)))


def test_a_focal_length_that_puts_the_camera_across_the_street_is_a_reason() -> None:
    def ten_times(points: dict[str, Any]) -> None:
        points["front"]["focal_px"] = 33_000.0

    assert "the camera comes out 7000 mm from the frame" in reasons(spoilt(ten_times))


@pytest.mark.parametrize("near_mm", [0.0, -27.0])
def test_a_near_distance_that_is_none_gives_no_near_pd(near_mm: float) -> None:
    found = figures(good_points() | {"near_distance_mm": near_mm})
    assert f"near_distance_mm is {near_mm:g}; it must be more than 0" in " / ".join(found["retake"])
    assert found["right"]["near_pd_mm"] is None
    assert found["right"]["pd_mm"]["value"] == pytest.approx(31.5, abs=0.05)


def test_a_large_plus_minus_names_its_main_cause_and_what_to_do() -> None:
    found = figures(good_points() | {"spreads": {"chin_deg": 4.0}})
    assert found["retake"] == []  # a wide ± is honest
    [right, left] = found["extra"]["notes"]
    assert right.startswith("the right height is only known to ±")
    assert left.startswith("the left height is only known to ±")
    assert "mostly because of chin" in right
    assert right.endswith("have the wearer hold the head naturally")


def test_only_what_no_mark_repairs_calls_for_another_photo() -> None:
    def kinds(points: dict[str, Any]) -> tuple[int, ...]:
        found = measured(points)
        return tuple(map(len, (found.take_again, found.told("to_mark"), found.told("to_check"))))

    assert kinds(good_points()) == (0, 0, 0)
    assert kinds(spoilt(exchanged)) == (0, 1, 0)
    assert kinds(spoilt(front_as_side)) == (1, 0, 0)
    assert kinds(good_points(pose=Pose(roll_deg=6.5))) == (1, 0, 0)
    assert kinds(good_points(wearer=Wearer(pd_right_mm=43.0, pd_left_mm=42.5))) == (0, 0, 3)
    assert kinds({"format": "fitting-points/1", "front": None, "side": None}) == (1, 0, 0)


def test_what_is_missing_is_asked_for() -> None:
    def forgetful(points: dict[str, Any]) -> None:
        points["front"]["gaze"] = None
        points["front"]["right"]["pupil"] = None
        points["side"]["level"] = None
        points["side"]["scale"] = None

    found = reasons(spoilt(forgetful))
    assert "whether the wearer looked at the camera or far away" in found
    assert "the right pupil mark is missing on the front photo" in found
    assert "no level line is marked on the side photo" in found
    assert "the side photo has no known length" in found


def test_a_card_at_an_unknown_distance_before_the_lenses_gives_no_scale() -> None:
    def unsaid(points: dict[str, Any]) -> None:
        points["front"]["scale"].pop("in_front_of_lens_plane_mm")

    found = figures(spoilt(unsaid, scale_by="card"))
    assert found["right"]["a_mm"] is None
    assert any("how far the card was held" in reason for reason in found["retake"])


def test_no_photo_at_all_is_said() -> None:
    assert reasons({"format": "fitting-points/1", "front": None, "side": None}) == (
        "there is neither a front nor a side photo"
    )


BEYOND_ALL_SENSE = [
    ("front", "focal_px", "focal_px is"),
    ("front", "camera_distance_mm", "camera_distance_mm is"),
    ("front", "height_px", "height_px is"),
    ("front", "mark_sd_px", "mark_sd_px is"),
    ("side", "width_px", "width_px is"),
]


@pytest.mark.parametrize("size", [1e15, 1e300, 1.7e308])
@pytest.mark.parametrize(("photo", "key", "named"), BEYOND_ALL_SENSE)
def test_a_size_beyond_all_sense_is_named_and_that_photo_measures_nothing(
    photo: str, key: str, named: str, size: float
) -> None:
    found = figures(spoilt(lambda points: points[photo].update({key: size})))
    (reason,) = (reason for reason in found["retake"] if named in reason)
    assert reason.startswith(f"{photo} photo: {named} {size:g}; possible is")
    assert (found["dbl_mm"] is None) == (photo == "front")


@pytest.mark.parametrize("size", [2001.0, 1e15, 1e300])
def test_a_known_length_longer_than_any_rule_is_named(size: float) -> None:
    found = figures(spoilt(lambda points: points["side"]["scale"].update({"by": "length", "length_mm": size})))
    assert any("the known length of the scale is" in reason for reason in found["retake"])
    assert found["pantoscopic_deg"] is None


@pytest.mark.parametrize("spread", ["focal_percent", "centre_of_rotation_mm", "chin_deg", "camera_distance_mm"])
@pytest.mark.parametrize("size", [1e15, 1e300, 1.7e308])
def test_a_spread_beyond_all_sense_states_no_figure_with_an_endless_doubt(spread: str, size: float) -> None:
    found = figures(spoilt(lambda points: points.update({"spreads": {spread: size}})))
    stated = [figure for figure in found["right"].values() if figure is not None]
    assert all(math.isfinite(figure["plus_minus"]) for figure in stated)
