"""measure_fitting recovers what a pinhole camera drew, and states the doubt that the named spreads leave."""

from __future__ import annotations

import random
import statistics
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.contract.pinhole import Camera, Document, Wearer, front_photo, measured, side_photo

PHOTOS: dict[str, tuple[Wearer, Camera, dict[str, Any]]] = {
    "straight, by the frame": (Wearer(), Camera(), {}),
    "near": (Wearer(), Camera(distance_mm=400), {}),
    "gaze far": (Wearer(), Camera(), {"gaze": "far"}),
    "camera above the eyes": (Wearer(), Camera(up_mm=60), {}),
    "camera above the eyes, gaze far": (Wearer(), Camera(up_mm=60), {"gaze": "far"}),
    "camera to one side": (Wearer(), Camera(right_mm=25), {}),
    "rolled": (Wearer(), Camera(roll_deg=6), {}),
    "rolled, above and to one side": (Wearer(), Camera(roll_deg=-4, up_mm=-40, right_mm=15), {}),
    "by a card before the lenses": (Wearer(), Camera(), {"scale": "card"}),
    "by a card, rolled and above": (Wearer(), Camera(roll_deg=3, up_mm=30), {"scale": "card"}),
    "by a length in the lens plane": (Wearer(), Camera(), {"scale": "length"}),
}


@pytest.mark.parametrize("name", PHOTOS)
def test_the_eyes_are_found_where_they_were_drawn(name: str, tmp_path: Path) -> None:
    wearer, camera, how = PHOTOS[name]
    fitting = measured(tmp_path, front_photo(wearer, camera, **how))

    assert _values(fitting["right"], "pd_mm", "height_mm", "a_mm", "b_mm") == pytest.approx(
        [wearer.right_pd_mm, wearer.right_height_mm, wearer.a_mm, wearer.b_mm], abs=0.02
    )
    assert _values(fitting["left"], "pd_mm", "height_mm", "a_mm", "b_mm") == pytest.approx(
        [wearer.left_pd_mm, wearer.left_height_mm, wearer.a_mm, wearer.b_mm], abs=0.02
    )
    assert _values(fitting, "camera_distance_mm", "dbl_mm") == pytest.approx(
        [camera.distance_mm, wearer.dbl_mm], abs=0.05
    )


def test_a_given_camera_distance_stands_for_the_focal_length(tmp_path: Path) -> None:
    front = front_photo(Wearer(), Camera())
    known = measured(tmp_path, {**front, "focal_px": None, "camera_distance_mm": 600.0})

    assert _values(known["right"], "pd_mm", "height_mm") == pytest.approx([31.0, 21.0], abs=0.01)
    assert known["camera_distance_mm"]["value"] == pytest.approx(600.0)


@pytest.mark.parametrize("gaze", ["camera", "far"])
def test_the_vertex_distance_of_the_side_photo_moves_the_eye_behind_the_lens(gaze: str, tmp_path: Path) -> None:
    wearer = Wearer(vertex_mm=9.0)
    front = front_photo(wearer, Camera(distance_mm=450, up_mm=30), gaze=gaze)
    with_side = measured(tmp_path, front, side_photo(9.0, 0.0))
    alone = measured(tmp_path, front)

    assert _values(with_side["left"], "pd_mm", "height_mm", "vertex_mm") == pytest.approx([32.5, 22.0, 9.0], abs=0.02)
    assert alone["left"]["pd_mm"]["value"] > 32.5 + 0.2
    assert alone["left"]["vertex_mm"] is None


@pytest.mark.parametrize(("pantoscopic_deg", "level_deg"), [(0, 0), (9, 0), (9, 3), (-4, -2), (12, 5)])
def test_tilt_and_vertex_distance_are_read_against_the_level(
    pantoscopic_deg: float, level_deg: float, tmp_path: Path
) -> None:
    fitting = measured(tmp_path, None, side_photo(13.0, pantoscopic_deg, level_deg=level_deg))

    assert fitting["pantoscopic_deg"]["value"] == pytest.approx(pantoscopic_deg, abs=0.01)
    assert fitting["right"]["vertex_mm"]["value"] == pytest.approx(13.0, abs=0.01)
    assert fitting["right"]["pd_mm"] is None


def test_the_near_pd_is_that_of_a_plano_lens_at_40_cm(tmp_path: Path) -> None:
    fitting = measured(tmp_path, front_photo(Wearer(), Camera()))

    assert fitting["right"]["near_pd_mm"]["value"] == pytest.approx(31.0 * 400 / 427, abs=0.02)


def test_the_stated_doubt_is_that_of_the_named_spreads(tmp_path: Path) -> None:
    """1.96 SD of many photos whose marks, camera place and scale are off by the named spreads, head and chin still."""
    wearer, camera = Wearer(), Camera(distance_mm=500)
    still = {"head_turn_deg": 0.0, "chin_deg": 0.0}
    stated = measured(tmp_path, front_photo(wearer, camera), spreads=still)["right"]
    chance = random.Random(7)
    seen: dict[str, list[float]] = {"pd_mm": [], "height_mm": []}
    for _ in range(250):
        # What remains of a camera off the eyes' level shifts the whole photo, as if the camera had been aimed there.
        off = replace(camera, right_mm=chance.gauss(0, 5), up_mm=chance.gauss(0, 10))
        front = _aimed_back(front_photo(wearer, off), off)
        for side in ("right", "left"):
            front[side] = {mark: [x + chance.gauss(0, 1.5) for x in at] for mark, at in front[side].items()}
        front["scale"]["a_mm"] += chance.gauss(0, 0.1)
        found = measured(tmp_path, front)["right"]
        for key, values in seen.items():
            values.append(found[key]["value"])
    for key, values in seen.items():
        assert stated[key]["plus_minus"] == pytest.approx(1.96 * statistics.stdev(values), rel=0.15), key


def _aimed_back(front: Document, camera: Camera) -> Document:
    """The photo of a camera off the middle that nobody knows to be there: as if the axis met the box centres."""
    shift = [
        camera.focal_px * camera.right_mm / camera.distance_mm,
        -camera.focal_px * camera.up_mm / camera.distance_mm,
    ]
    moved = {**front}
    for side in ("right", "left"):
        moved[side] = {mark: [at[0] + shift[0], at[1] + shift[1]] for mark, at in front[side].items()}
    return moved


def _values(part: Document, *keys: str) -> list[float]:
    return [part[key]["value"] for key in keys]
