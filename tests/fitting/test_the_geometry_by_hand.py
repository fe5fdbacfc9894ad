"""The marks of one fitting worked through with a pocket calculator, step by step."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.fitting.marks import figures, good_points, spoilt
from tests.fitting.simulate import Camera, Pose

FRONT = {
    "width_px": 4000,
    "height_px": 3000,
    "focal_px": 3300.0,
    "gaze": "camera",
    "scale": {"by": "frame", "a_mm": 52.0, "dbl_mm": 18.0},
    "right": {
        "pupil": [1754.0, 1490.0],
        "nasal": [1925.0, 1500.0],
        "temporal": [1490.0, 1500.0],
        "top": [1700.0, 1330.0],
        "bottom": [1700.0, 1650.0],
    },
    "left": {
        "pupil": [2246.0, 1490.0],
        "nasal": [2075.0, 1500.0],
        "temporal": [2510.0, 1500.0],
        "top": [2300.0, 1330.0],
        "bottom": [2300.0, 1650.0],
    },
}
SIDE = {
    "width_px": 3000,
    "height_px": 4000,
    "rim_top": [1000.0, 1500.0],
    "rim_bottom": [940.0, 1880.0],
    "cornea": [850.0, 1600.0],
    "level": [[0.0, 2000.0], [3000.0, 2010.0]],
    "scale": {"by": "length", "length_mm": 38.0, "ends": [[1000.0, 1500.0], [940.0, 1880.0]]},
}
FORMAT = {"format": "fitting-points/1"}

# Box centres at 1707.5 and 2292.5 px: 585 px are A + DBL = 70 mm, and the camera stood at 3300 · 70 / 585.
MM_PER_PX = 70 / 585
DISTANCE_MM = 3300 * MM_PER_PX


def test_a_front_photo_looking_at_the_camera_worked_by_hand() -> None:
    found = figures(FORMAT | {"front": FRONT})
    assert found["camera_distance_mm"]["value"] == pytest.approx(DISTANCE_MM)
    widening = (DISTANCE_MM + 27) / DISTANCE_MM
    assert found["right"]["pd_mm"]["value"] == pytest.approx(246 * MM_PER_PX * widening)
    assert found["left"]["pd_mm"]["value"] == pytest.approx(31.449, abs=0.001)
    assert found["right"]["near_pd_mm"]["value"] == pytest.approx(31.449 * 400 / 427, abs=0.001)
    # The pupil is 10 px above the middle, the lowest point of the box 150 px below it.
    assert found["right"]["height_mm"]["value"] == pytest.approx((10 * widening + 150) * MM_PER_PX)
    assert found["right"]["a_mm"]["value"] == pytest.approx(435 * MM_PER_PX)
    assert found["right"]["b_mm"]["value"] == pytest.approx(320 * MM_PER_PX)
    assert found["dbl_mm"]["value"] == pytest.approx(150 * MM_PER_PX)
    assert found["head_turn_deg"]["value"] == pytest.approx(0.0, abs=1e-9)
    assert found["right"]["vertex_mm"] is None
    assert found["pantoscopic_deg"] is None


def test_looking_far_the_pupil_itself_is_the_place_of_the_line_of_sight() -> None:
    found = figures(FORMAT | {"front": FRONT | {"gaze": "far"}})
    widening = (DISTANCE_MM + 13.5 + 3) / DISTANCE_MM
    assert found["right"]["pd_mm"]["value"] == pytest.approx(246 * MM_PER_PX * widening)
    assert found["right"]["height_mm"]["value"] == pytest.approx((10 * widening + 150) * MM_PER_PX)


def test_a_side_photo_worked_by_hand() -> None:
    found = figures(FORMAT | {"side": SIDE})
    down = math.atan2(10, 3000)  # the level line sinks to the right, in the direction of gaze
    lean = math.atan2(60, 380)
    assert found["pantoscopic_deg"]["value"] == pytest.approx(math.degrees(lean - down), abs=1e-9)
    mm_per_px = 38 / math.hypot(60, 380)
    # On a level line through the cornea: sine rule between the level, the rim and the cornea.
    across = 1000 - 60 * (100 / 380) - 850
    level_run = across * math.sin(math.pi / 2 - lean) / math.sin(math.pi / 2 - lean + down)
    assert found["left"]["vertex_mm"]["value"] == pytest.approx(level_run * mm_per_px, abs=1e-9)
    assert found["right"]["pd_mm"] is None


def test_the_vertex_of_the_side_photo_sets_the_centre_of_rotation_of_the_front_photo() -> None:
    both = figures(FORMAT | {"front": FRONT, "side": SIDE})
    stop = both["right"]["vertex_mm"]["value"] + 13.5
    assert both["right"]["pd_mm"]["value"] == pytest.approx(246 * MM_PER_PX * (1 + stop / DISTANCE_MM))


def test_the_depth_along_the_lens_needs_the_tilt_of_a_side_photo() -> None:
    both, alone = figures(FORMAT | {"front": FRONT, "side": SIDE}), figures(FORMAT | {"front": FRONT})
    tilt = math.radians(both["pantoscopic_deg"]["value"])
    # The middle of the box lies 10 px above that of the photo: its ends are seen 170 px above it and 150 px below.
    up, down = (160 * MM_PER_PX / (math.cos(tilt) + px / 3300 * math.sin(tilt)) for px in (170, -150))
    assert both["right"]["b_along_lens_mm"]["value"] == pytest.approx(up + down)
    assert both["right"]["b_mm"]["value"] == pytest.approx(320 * MM_PER_PX)
    assert alone["right"]["b_along_lens_mm"] is None


def test_a_given_camera_distance_counts_for_more_than_the_focal_length() -> None:
    found = figures(FORMAT | {"front": FRONT | {"camera_distance_mm": 600.0}})
    assert found["camera_distance_mm"]["value"] == 600.0
    assert found["right"]["pd_mm"]["value"] == pytest.approx(246 * MM_PER_PX * 627 / 600)
    assert any("disagrees" in reason for reason in found["retake"])


def test_the_plus_minus_of_a_pd_is_the_root_of_its_parts() -> None:
    """Turn, camera beside the middle, marks and scale, each by its own small sum for the right eye."""
    found = figures(FORMAT | {"front": FRONT})
    widening = (DISTANCE_MM + 27) / DISTANCE_MM
    # A turn moves the centre of rotation by 27 mm · angle, and brings this side of the front nearer the camera.
    pupil, nasal = 246 / 3300, 75 / 3300
    turn = math.radians(1) * (27 + (DISTANCE_MM + 27) * pupil**2 - DISTANCE_MM * nasal**2)
    aside = 27 * 5 / DISTANCE_MM
    # A mark of a box side moves the known length by half of its own error, and all figures in the same part.
    by_scale = 1.5 * MM_PER_PX * 246 / 585 / 2
    by_bridge = 1.5 * MM_PER_PX / 2
    marks = math.hypot(1.5 * MM_PER_PX * widening, by_bridge + by_scale, by_bridge - by_scale, by_scale, by_scale)
    scale = 0.1 / 585 * 246
    expected = 1.96 * math.hypot(turn, aside, marks, scale)
    assert found["right"]["pd_mm"]["plus_minus"] == pytest.approx(expected, rel=0.002)


def test_roll_of_the_photo_is_taken_out() -> None:
    upright = figures(good_points())
    rolled = figures(good_points(pose=Pose(roll_deg=7.0)))
    assert rolled["roll_deg"]["value"] == pytest.approx(7.0)
    for eye in ("right", "left"):
        for name in ("pd_mm", "height_mm", "a_mm", "b_mm"):
            assert rolled[eye][name]["value"] == pytest.approx(upright[eye][name]["value"], abs=1e-9)


def test_a_camera_off_the_eyes_level_shows_in_the_marks_and_is_corrected() -> None:
    found = figures(good_points(camera=Camera(distance_mm=600.0, above_mm=40.0, aside_mm=-25.0)))
    assert found["right"]["height_mm"]["value"] == pytest.approx(22.0, abs=1e-9)
    assert found["camera_above_eyes_mm"]["value"] == pytest.approx(40.0, abs=1e-6)
    assert found["camera_sideways_mm"]["value"] == pytest.approx(-25.0, abs=1e-6)


def test_without_any_distance_the_eyes_are_known_as_from_a_usual_one_with_a_wide_plus_minus() -> None:
    def forget(points: dict[str, Any]) -> None:
        points["front"]["focal_px"] = None

    found = figures(spoilt(forget, with_side=False))
    assert found["right"]["a_mm"]["value"] == pytest.approx(52.0, abs=1e-4)
    assert found["dbl_mm"]["value"] == pytest.approx(18.0, abs=1e-4)
    known = figures(good_points(with_side=False))
    assert found["right"]["pd_mm"]["value"] == pytest.approx(31.5, abs=0.3)
    for figure in ("pd_mm", "near_pd_mm"):
        assert found["right"][figure]["plus_minus"] > 1.15 * known["right"][figure]["plus_minus"]
    assert found["shares"]["binocular_pd_mm"]["distance"] > 0.5
    assert found["camera_distance_mm"] is None
    assert found["head_turn_deg"] is None
    assert found["retake"] == []
    assert any("neither the focal length nor the camera distance" in note for note in found["extra"]["notes"])


def test_a_single_eye_can_be_measured_with_a_known_length() -> None:
    def one_eye(points: dict[str, Any]) -> None:
        points["front"]["left"] = {"nasal": points["front"]["left"]["nasal"]}

    found = figures(spoilt(one_eye, scale_by="length"))
    assert found["right"]["pd_mm"] is None  # one box alone does not show the roll
    assert any("left pupil mark is missing" in reason for reason in found["retake"])
