"""Topic 13 of the published cases: what a photo shows of pupils that converge and heads that turn."""

from __future__ import annotations

import json

import numpy as np
import pytest

from dispensing.fitting.anatomy import near_pd_mm
from dispensing.fitting.as_worn import as_worn
from dispensing.fitting.documents import parse_points
from dispensing.fitting.measure import measure
from tests.fitting.marks import figures, good_points
from tests.fitting.simulate import Camera, Pose
from tests.published.rows import PublishedCase, by_id, published, worked


@published(by_id("PH-04", "PH-05", "PH-06"))
def test_published_pupils_that_converge_on_a_camera_give_back_the_far_pd(case: PublishedCase) -> None:
    to_cornea, far = case.inputs["camera_to_cornea_mm"], case.inputs["far_pd"]
    found = figures(_converging(case.expected["pupil_pd"], to_cornea))
    assert found["binocular_pd_mm"]["value"] == pytest.approx(far, abs=case.allowed_difference("pupil_pd") * 1.02)


@published(by_id("PH-02"))
def test_a_pd_measured_at_60_cm_becomes_the_published_far_pd(case: PublishedCase) -> None:
    found = figures(_converging(case.inputs["pd_at_pupils"], case.inputs["target_mm"]))
    assert found["binocular_pd_mm"]["value"] == pytest.approx(case.expected["far"], abs=case.allowed_difference("far"))


def _converging(pupil_pd_mm: float, camera_to_cornea_mm: float) -> dict[str, object]:
    """A photo on which the pupils, 3 mm behind the corneas, are the given distance apart."""
    distance = camera_to_cornea_mm - 13.5
    points = good_points(with_side=False, camera=Camera(distance_mm=distance))
    for eye, side in (("right", -1), ("left", 1)):
        x = side * pupil_pd_mm / 2 * 3300.0 / (camera_to_cornea_mm + 3)
        points["front"][eye]["pupil"] = [2000 + x, 1500]
    return points


@published(by_id("PH-09"))
def test_a_turned_head_moves_one_pd_out_and_the_other_in_by_the_published_amount(case: PublishedCase) -> None:
    far_camera = Camera(distance_mm=100_000.0, focal_px=500_000.0)
    straight = figures(good_points(camera=far_camera))
    turned = figures(good_points(camera=far_camera, pose=Pose(turn_deg=case.inputs["head_turn_deg"])))
    shift = [turned[eye]["pd_mm"]["value"] - straight[eye]["pd_mm"]["value"] for eye in ("right", "left")]
    allowed = case.allowed_difference("mono_shift")
    assert max(shift) == pytest.approx(case.expected["mono_shift"], abs=allowed)
    assert min(shift) == pytest.approx(-case.expected["mono_shift"], abs=allowed)


@published(by_id("PH-11"))
def test_in_the_spectacle_plane_near_is_four_millimetres_less_than_far(case: PublishedCase) -> None:
    found = figures(good_points())
    less = sum(found[eye]["pd_mm"]["value"] - found[eye]["near_pd_mm"]["value"] for eye in ("right", "left"))
    assert f"{less:.0f}" == case.expected["spec_plane"].split()[0]


NEAR_CASES = [case for case in worked(5) if {"pd", "work_mm", "stop_mm"} <= set(case.inputs) and case.inputs["F"] == 0]


@published(NEAR_CASES)
def test_published_near_pds_behind_a_plano_lens(case: PublishedCase) -> None:
    distances = np.atleast_1d(case.inputs["work_mm"])
    expected = np.atleast_1d(case.expected["near_pd"])
    found = [near_pd_mm(case.inputs["pd"], distance, case.inputs["stop_mm"]) for distance in distances]
    assert found == pytest.approx(expected, abs=case.allowed_difference("near_pd"))


@published(by_id("HB-085"))
def test_a_pupil_that_shifts_with_the_light_stays_within_the_doubt_of_a_photo(case: PublishedCase) -> None:
    worn = measure(as_worn(parse_points(json.dumps(good_points()))))
    assert worn.right.pd_mm is not None
    assert case.expected["ninety_percent_below_mm"] < case.expected["largest_mm"] < worn.right.pd_mm.plus_minus
