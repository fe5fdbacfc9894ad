"""On the page a front is worn as fronts usually are: what nobody measured is taken as usual, with a ± to match.

A file for ``measure_fitting`` says for itself what it takes as exact; here somebody left a field empty.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from dispensing.fitting.as_worn import (
    CENTRE_OF_ROTATION_SD_MM,
    UNMEASURED_CENTRE_OF_ROTATION_SD_MM,
    as_worn,
    tells_vertex,
)
from dispensing.fitting.command import plain
from dispensing.fitting.documents import FittingPoints, parse_points
from dispensing.fitting.measure import measure
from tests.fitting.simulate import Scene, figures_of, random_scene
from tests.fitting.test_the_stated_doubt_is_honest import Trial, print_table
from tests.known import there
from tests.published.rows import PublishedCase, by_id, published

SEED = 20261125
SCENES = 600
ACROSS_AND_UP = ("horizontal_mm", "vertical_mm")
(CENTRES_OF_ROTATION,) = by_id("HB-082")
QUANTITIES = (
    *(f"{eye}.{name}" for eye in ("right", "left") for name in ("pd_mm", "near_pd_mm", "height_mm", "a_mm")),
    "dbl_mm",
    "binocular_pd_mm",
    "camera_distance_mm",
)


def worn(rng: np.random.Generator, scale_by: str) -> Scene:
    """A front bent and tilted as fronts are, at any usual vertex distance; only the photo from the front is taken.

    By hand, so the camera points up or down by some degrees, and the head turns by more than in a studio.

    Eyes turn about points as far behind the cornea as were found in 59 adults (row HB-082 of the published ones).
    """
    scene = random_scene(rng, scale_by=scale_by, with_side=False)
    frame = replace(
        scene.frame,
        tilted_in_front_photo=True,
        face_form_deg=float(np.clip(rng.normal(5.0, 1.5), 0, 12)),
        pantoscopic_deg=float(rng.uniform(5, 13)),
    )
    pose = replace(scene.pose, turn_deg=float(rng.normal(0, 2)), chin_deg=float(rng.normal(0, 1.5)))
    nod = scene.camera.distance_mm * np.tan(np.radians(rng.normal(0, 3)))
    camera = replace(scene.camera, axis_above_mm=float(nod))
    sideways, upwards = (CENTRES_OF_ROTATION.expected[key] for key in ("horizontal_mm", "vertical_mm"))
    turns_behind = float(rng.normal(*sideways)), float(rng.normal(*upwards))
    wearer = replace(scene.wearer, vertex_mm=float(rng.uniform(11, 16)), turns_behind_mm=turns_behind)
    return replace(scene, frame=frame, wearer=wearer, pose=pose, camera=camera)


def marked(scene: Scene, rng: np.random.Generator) -> FittingPoints:
    points = scene.marked(rng)
    if scene.scale_by == "card":  # held not quite where it was said
        points["front"]["scale"]["in_front_of_lens_plane_mm"] += rng.normal(0, 3)
    return parse_points(json.dumps(points))


def trials(scale_by: str, *, as_the_page: bool) -> dict[str, Trial]:
    rng = np.random.default_rng(SEED)
    found: dict[str, list[tuple[float, float]]] = {}
    for _ in range(SCENES):
        scene = worn(rng, scale_by)
        points = marked(scene, rng)
        if as_the_page:
            points = as_worn(points)
        figures = figures_of(plain(measure(points)))
        for name, truth in scene.truth().items():
            found.setdefault(name, []).append((figures[name]["value"] - truth, figures[name]["plus_minus"] / 1.96))
    table = {name: Trial(*np.array(rows).T) for name, rows in found.items()}
    print_table(f"Worn fronts by the {scale_by}, {'as the page takes them' if as_the_page else 'taken as flat'}", table)
    return table


@pytest.mark.parametrize("scale_by", ["frame", "card"])
def test_the_plus_minus_of_a_worn_front_holds_the_truth_though_nobody_measured_its_face_form(scale_by: str) -> None:
    found = trials(scale_by, as_the_page=True)
    for name in QUANTITIES:
        # 600 scenes tell a coverage of 95 % to a point either way; a little too careful is no fault. The convention of
        # 13.5 mm costs the PDs a point and a half: these eyes turn 1.8 mm farther back, so a turned head moves more.
        least = 0.915 if "pd_mm" in name else 0.93
        assert least <= found[name].covered <= 0.985, name


def test_taken_as_flat_the_same_fronts_would_be_promised_too_much() -> None:
    """Why the page does not: of the binocular PDs one in six would lie outside its ±, instead of one in twenty."""
    found = trials("frame", as_the_page=False)
    assert found["binocular_pd_mm"].covered < 0.88
    assert found["camera_distance_mm"].covered < 0.75


def test_a_vertex_distance_by_the_depth_of_the_frame_allows_for_the_rim_that_hides_the_lens() -> None:
    """Marked to a pixel and a half it would claim ±0.4 mm; ±1 mm is what such a photo gives (common practice)."""
    rng = np.random.default_rng(SEED)
    errors, stated = [], []
    for _ in range(SCENES):
        scene = random_scene(rng, with_side=True)
        points = scene.marked(rng)
        side = points["side"]
        seen_mm = scene.frame.b_mm - rng.normal(0, 1)  # what is marked of the rim is not quite the lens
        side["scale"] = {"by": "length", "length_mm": seen_mm, "ends": [side["rim_top"], side["rim_bottom"]]}
        figure = measure(as_worn(parse_points(json.dumps(points)))).right.vertex_mm
        assert figure is not None
        errors.append(figure.value - (scene.wearer.vertex_mm + rng.normal(0, 0.5)))
        stated.append(figure.plus_minus / 1.96)
    trial = Trial(np.array(errors), np.array(stated))
    print_table("Vertex distance by B between the rims", {"vertex_mm": trial})
    assert 0.93 <= trial.covered <= 0.97
    assert 1.96 * np.median(stated) == pytest.approx(1.2, abs=0.3)


def one(**more: object) -> FittingPoints:
    points = Scene(with_side=bool(more.pop("with_side", False))).marked(np.random.default_rng(0))
    points["front"] |= more
    return parse_points(json.dumps(points))


def test_a_measured_face_form_is_kept_and_makes_the_plus_minus_smaller() -> None:
    unsaid, measured = as_worn(one()), as_worn(one(face_form_deg=8.0))
    assert unsaid.front is not None
    assert unsaid.front.face_form_deg == 5.0
    assert measured.front is not None
    assert measured.front.face_form_deg == 8.0
    wide, narrow = measure(unsaid), measure(measured)
    assert wide.binocular_pd_mm is not None
    assert narrow.binocular_pd_mm is not None
    assert narrow.binocular_pd_mm.plus_minus < wide.binocular_pd_mm.plus_minus
    assert wide.shares["binocular_pd_mm"]["face form"] > narrow.shares["binocular_pd_mm"]["face form"] > 0


def test_a_front_curved_for_sport_makes_the_pd_unsure_until_its_face_form_is_measured() -> None:
    wrapped = measure(as_worn(one(), front_curve_d=8.0))
    assert wrapped.binocular_pd_mm is not None
    # More than the usual 1.2 by half, though A and DBL tell a part of the face form.
    assert wrapped.binocular_pd_mm.plus_minus > 1.7
    assert next(iter(wrapped.shares["binocular_pd_mm"])) == "face form"  # the largest comes first
    said = measure(as_worn(one(face_form_deg=15.0), front_curve_d=8.0))
    assert said.binocular_pd_mm is not None
    assert said.binocular_pd_mm.plus_minus < 0.7 * wrapped.binocular_pd_mm.plus_minus


def test_a_side_photo_makes_the_place_of_the_eye_surer_once_it_tells_the_vertex_distance() -> None:
    points = one(with_side=True)
    assert tells_vertex(points)
    assert points.side is not None
    half = points.model_copy(update={"side": points.side.model_copy(update={"cornea": None})})
    assert not tells_vertex(half)
    assert not tells_vertex(one())
    sure = as_worn(points).spreads
    unsure = as_worn(half).spreads
    assert sure is not None
    assert unsure is not None
    assert there(sure.centre_of_rotation_mm) < there(unsure.centre_of_rotation_mm)


@published([CENTRES_OF_ROTATION])
def test_the_spread_of_the_centre_of_rotation_is_that_of_the_adults_measured(case: PublishedCase) -> None:
    """About the conventional 13.5 mm, so what their mean lies off it counts as well as what they scatter."""
    off = {name: math.hypot(mean - 13.5, sd) for name, (mean, sd) in case.expected.items() if name in ACROSS_AND_UP}
    assert off == {"horizontal_mm": pytest.approx(2.34, abs=0.01), "vertical_mm": pytest.approx(1.72, abs=0.01)}
    assert pytest.approx(max(off.values()), abs=0.1) == CENTRE_OF_ROTATION_SD_MM
    vertex_sd = (16 - 11) / math.sqrt(12)
    both = math.hypot(max(off.values()), vertex_sd)
    assert pytest.approx(both, abs=0.1) == UNMEASURED_CENTRE_OF_ROTATION_SD_MM
