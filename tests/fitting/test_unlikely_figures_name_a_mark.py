"""An unlikely figure says which mark to look at first: the single one whose error would explain it."""

from __future__ import annotations

import json
from collections import Counter
from typing import Any

import numpy as np
import pytest

from dispensing.fitting.documents import parse_points
from dispensing.fitting.measure import measure
from dispensing.trade import Limits, PracticeLimits
from tests.fitting.marks import figures, good_points, spoilt
from tests.fitting.simulate import Pose, Wearer, random_scene

ACROSS = {"nasal", "temporal"}


def blamed(found: Any) -> Any:
    marks = Counter(row["look_at"] for row in found["unlikely"] if row["look_at"])
    return marks.most_common(1)[0][0] if marks else None


@pytest.mark.parametrize("eye", ["right", "left"])
@pytest.mark.parametrize("mark", ["pupil", "nasal", "temporal", "top", "bottom"])
def test_a_mark_that_slipped_by_eight_millimetres_is_named(eye: str, mark: str) -> None:
    """Nine times in ten; of two tops (or bottoms) that disagree, which one slipped is only likely, not sure."""
    rng = np.random.default_rng(5)
    scenes, exact, near = 30, 0, 0
    for _ in range(scenes):
        scene = random_scene(rng, scale_by="frame", with_side=False)
        points = scene.marked(rng)
        slip_px = 8 * scene.camera.focal_px / scene.camera.distance_mm * rng.choice([-1, 1])
        points["front"][eye][mark][0 if mark in ACROSS or mark == "pupil" else 1] += float(slip_px)
        found = figures(points)
        named_outright = any("photo:" in reason and eye in reason for reason in found["retake"])
        exact += blamed(found) == f"front.{eye}.{mark}" or named_outright
        near += blamed(found) in {"front.right." + mark, "front.left." + mark} or named_outright
    assert near >= 0.9 * scenes
    assert exact >= (0.7 if mark in ("top", "bottom") else 0.9) * scenes


def test_a_wrongly_typed_eye_size_is_found_by_what_the_boxes_say() -> None:
    def typed_wrong(points: dict[str, Any]) -> None:
        points["front"]["scale"]["a_mm"] = 62.0

    found = figures(spoilt(typed_wrong, with_side=False))
    assert blamed(found) == "front.scale.a_mm"
    assert found["unlikely"][0]["advice"].startswith("look first at the given A: an error of ")


def test_the_message_says_what_was_found_what_is_usual_and_where_to_look() -> None:
    def slipped(points: dict[str, Any]) -> None:
        points["front"]["right"]["pupil"][0] -= 40.0

    row = next(row for row in figures(spoilt(slipped))["unlikely"] if row["figure"] == "pd_mm")
    assert row["eye"] == "right"
    assert row["usual"] == [26.0, 38.0]
    assert row["error_px"] == pytest.approx(40.0, abs=8.0)
    assert row["says"] == "right PD is 40.3 mm; usual is 26 to 38 mm"
    shift = f"{row['error_px']:.1f} px"
    assert row["advice"] == f"look first at the right pupil mark: an error of {shift} there would explain it"
    assert row["message"] == f"{row['says']}; {row['advice']}"


def test_a_mark_is_named_for_a_figure_just_below_its_band_as_well() -> None:
    def slipped(points: dict[str, Any]) -> None:
        points["front"]["right"]["pupil"][0] += 28.0

    row = next(row for row in figures(spoilt(slipped))["unlikely"] if row["figure"] == "pd_mm")
    assert row["says"] == "right PD is 25.3 mm; usual is 26 to 38 mm"
    assert row["look_at"] == "front.right.pupil"
    assert row["error_px"] == pytest.approx(28.0, abs=8.0)


def test_an_impossible_figure_is_a_reason_to_take_the_photo_again() -> None:
    found = figures(good_points(wearer=Wearer(pd_right_mm=43.0, pd_left_mm=42.5)))
    assert any("binocular PD comes out as 85.5 mm" in reason for reason in found["retake"])


CHILD = Wearer(pd_right_mm=23.0, pd_left_mm=23.0)


@pytest.mark.parametrize(("age", "doubted"), [(9, []), (30, ["binocular PD"]), (None, ["binocular PD"])])
def test_a_childs_pd_is_no_reason_to_take_the_photo_again(age: int | None, doubted: list[str]) -> None:
    """46 mm: usual at nine, impossible in a grown person, and unlikely but possible where nobody said the age."""
    points = good_points(wearer=CHILD) | ({} if age is None else {"extra": {"age_years": age}})
    found = measure(parse_points(json.dumps(points)))
    told = [one.says.split(" is ")[0] for one in found.unlikely]
    assert [one for one in told if one == "binocular PD"] == doubted
    impossible = any("binocular PD comes out as 46.0 mm; possible is 48 to 80 mm" in one for one in found.retake)
    assert impossible is (age == 30)


def test_fifty_eight_millimetres_at_nine_months_are_unlikely() -> None:
    points = good_points(wearer=Wearer(pd_right_mm=29.0, pd_left_mm=29.0)) | {"extra": {"age_years": 0}}
    [found] = [one for one in measure(parse_points(json.dumps(points))).unlikely if one.figure == "binocular_pd_mm"]
    assert found.usual == (34.0, 52.0)
    assert measure(parse_points(json.dumps(points | {"extra": {"age_years": 30}}))).unlikely == ()


@pytest.mark.parametrize("stated", [-1, 9.5, True, "nine", None])
def test_an_age_that_is_none_counts_as_not_known(stated: object) -> None:
    assert parse_points(json.dumps(good_points() | {"extra": {"age_years": stated}})).age_years is None


def test_wide_set_eyes_within_the_usual_band_raise_no_doubt() -> None:
    assert figures(good_points(wearer=Wearer(pd_right_mm=36.5, pd_left_mm=36.5)))["unlikely"] == []


def test_a_cornea_marked_inside_the_eye_is_named_before_the_marks_it_would_take_more_to_blame() -> None:
    def too_deep(points: dict[str, Any]) -> None:
        points["side"]["cornea"][0] += 60.0

    found = figures(spoilt(too_deep))
    assert [row["look_at"] for row in found["unlikely"]] == ["side.cornea"]
    assert found["unlikely"][0]["error_px"] == pytest.approx(60.0, abs=3.0)


def test_unequal_pds_of_a_turned_head_are_put_down_to_the_turn_not_to_a_mark() -> None:
    found = figures(good_points(pose=Pose(turn_deg=6.0)))
    row = next(row for row in found["unlikely"] if row["figure"] == "pd_difference_mm")
    assert row["look_at"] == "front.head_turn_deg"
    assert row["advice"] == "look first at how the head was turned: an error of 6.0° there would explain it"


def test_boxes_too_unequal_for_any_turn_send_the_reader_to_the_marks() -> None:
    def slipped(points: dict[str, Any]) -> None:
        points["front"]["left"]["nasal"][0] += 45.0

    found = figures(spoilt(slipped))
    assert any("as unequal as if the head were turned" in reason for reason in found["retake"])
    assert blamed(found) == "front.left.nasal"


def test_a_practice_that_is_stricter_is_so_about_figures_of_photos_too() -> None:
    points = parse_points(json.dumps(good_points()))
    by_the_trade = measure(points)
    assert by_the_trade.binocular_pd_mm is not None
    assert [one.figure for one in by_the_trade.unlikely] == []
    narrower = by_the_trade.binocular_pd_mm.value - 1.0
    stricter = Limits(PracticeLimits({"pd-range": {"adult_most_mm": narrower}}))
    [found] = [one for one in measure(points, stricter).unlikely if one.figure == "binocular_pd_mm"]
    assert found.usual == (54.0, narrower)
    assert measure(points).unlikely == by_the_trade.unlikely
