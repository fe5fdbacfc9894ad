"""Two photos of one wearer make one better fitting, or are reported to disagree."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from dispensing.fitting.chain import COVERAGE_FACTOR
from dispensing.fitting.combine import combine, disagree
from dispensing.fitting.documents import Figure, Fitting, parse_points
from dispensing.fitting.inputs import SCALE
from dispensing.fitting.measure import measure
from tests.fitting.marks import good_points, measured
from tests.fitting.simulate import Pose, Wearer, random_scene
from tests.known import there


def test_two_agreeing_photos_give_a_smaller_plus_minus_at_their_mean() -> None:
    one = measured(good_points())
    together = combine([one, one])
    assert together.disagreements == ()
    assert there(together.fitting.right.pd_mm).value == pytest.approx(there(one.right.pd_mm).value)
    assert there(together.fitting.right.pd_mm).plus_minus == pytest.approx(
        there(one.right.pd_mm).plus_minus / 2**0.5, rel=0.01
    )


def test_the_error_of_the_same_known_length_does_not_shrink_by_repeating() -> None:
    careful = {"mark_sd_px": 0.0, "scale_length_mm": 1.0, "head_turn_deg": 0.0, "chin_deg": 0.0}
    points = good_points() | {"spreads": {**careful, "camera_up_mm": 0.0, "camera_sideways_mm": 0.0}}
    one = measured(points)
    assert there(combine([one, one]).fitting.dbl_mm).plus_minus == pytest.approx(there(one.dbl_mm).plus_minus)


def test_the_surer_photo_counts_for_more() -> None:
    sure = Fitting(dbl_mm=Figure(value=18.0, plus_minus=0.2))
    unsure = Fitting(dbl_mm=Figure(value=18.5, plus_minus=0.4))
    assert there(combine([sure, unsure]).fitting.dbl_mm).value == pytest.approx(18.1)


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_the_greater_of_two_shared_doubts_stays(order: tuple[int, int]) -> None:
    """Variances 0.25 each: half of the first is shared, none of the second; the parts of their own join to 1/12."""
    known = Figure(value=18.0, plus_minus=COVERAGE_FACTOR * 0.5)
    both = Fitting(dbl_mm=known, shares={"dbl_mm": {SCALE: 0.5}}), Fitting(dbl_mm=known)
    together = there(combine([both[place] for place in order]).fitting.dbl_mm)
    assert together.plus_minus == pytest.approx(COVERAGE_FACTOR * (1 / 12 + 0.125) ** 0.5)


def test_a_figure_that_only_one_photo_shows_is_taken_from_it() -> None:
    front_only, both = measured(good_points(with_side=False)), measured(good_points())
    assert combine([front_only, both]).fitting.pantoscopic_deg == both.pantoscopic_deg


def test_photos_of_different_faces_are_told_to_disagree() -> None:
    narrow, wide = measured(good_points()), measured(good_points(wearer=Wearer(pd_right_mm=34, pd_left_mm=34)))
    together = combine([narrow, wide])
    [said] = together.disagreements
    assert said.startswith("the photos disagree, more than their ± allows: ")
    assert any(f"binocular PD {figures} mm" in said for figures in ("68.0 against 63.0", "63.0 against 68.0"))
    assert set(together.disagreements) <= set(together.fitting.retake)


def test_of_three_photos_the_one_that_disagrees_is_named() -> None:
    sound, odd = measured(good_points()), measured(good_points(wearer=Wearer(pd_right_mm=36, pd_left_mm=31.5)))
    [said] = combine([sound, odd, sound], names=["Photo 1", "Photos 2 and 4", "Photo 3"]).disagreements
    assert said.startswith(
        "Photos 2 and 4 disagree with the others, more than their ± allows: right PD 36.0 against 31.5"
    )
    assert said.endswith("; look at its marks, or take it off")
    assert "height" not in said


def test_where_photos_disagree_the_plus_minus_of_their_mean_reaches_both() -> None:
    narrow, wide = measured(good_points()), measured(good_points(wearer=Wearer(pd_right_mm=36, pd_left_mm=31.5)))
    together = combine([narrow, wide]).fitting
    pd = there(together.right.pd_mm)
    assert (
        pd.value - pd.plus_minus
        < there(narrow.right.pd_mm).value
        < there(wide.right.pd_mm).value
        < pd.value + pd.plus_minus
    )
    assert there(together.left.pd_mm).plus_minus < there(narrow.left.pd_mm).plus_minus


@pytest.mark.parametrize("spread", ["face_form_deg", "centre_of_rotation_mm"])
def test_a_bend_of_the_front_or_depth_of_the_eye_that_is_unsure_stays_so_in_every_photo(spread: str) -> None:
    still = dict.fromkeys(("mark_sd_px", "scale_length_mm", "head_turn_deg", "chin_deg", "camera_up_mm"), 0.0)
    one = measured(good_points() | {"spreads": {**still, "camera_sideways_mm": 0.0, spread: 3.0}})
    assert there(one.binocular_pd_mm).plus_minus > 0.1
    assert there(combine([one, one]).fitting.binocular_pd_mm).plus_minus == pytest.approx(
        there(one.binocular_pd_mm).plus_minus
    )


def test_reasons_to_take_one_photo_again_are_kept() -> None:
    leaning = measured(good_points(pose=Pose(roll_deg=7.0)))
    assert any("leans" in reason for reason in combine([leaning, measured(good_points())]).fitting.retake)


def test_a_photo_and_a_hand_reading_agree_within_three_standard_deviations() -> None:
    photo = Figure(value=31.5, plus_minus=1.0)
    assert not disagree(photo, Figure(value=32.5, plus_minus=1.0))
    assert disagree(photo, Figure(value=34.0, plus_minus=1.0))


def test_the_combined_plus_minus_holds_the_truth_too() -> None:
    rng = np.random.default_rng(11)
    inside, tried, false_alarms = 0, 250, 0
    for _ in range(tried):
        first = random_scene(rng, with_side=False)
        other = random_scene(rng, with_side=False, wearer=first.wearer, frame=first.frame)
        pair = [measure(parse_points(json.dumps(scene.marked(rng)))) for scene in (first, replace(other))]
        together = combine(pair)
        figure = there(together.fitting.right.pd_mm)
        inside += abs(figure.value - first.wearer.pd_right_mm) <= figure.plus_minus
        false_alarms += bool(together.disagreements)
    assert 0.91 <= inside / tried <= 0.985
    assert false_alarms / tried < 0.06
