"""Thousands of rendered wearers, marked with noise and measured: bias, spread, and whether the ± is honest.

The heads are rendered by ``simulate``, which shares no code with the measuring. For comparison, the published
repeatability by hand: PD about 0.5 mm, fitting height 0.46 mm (Garcia-Espinilla et al., Clin Exp Optom 105:420, 2022).
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest

from dispensing.fitting.chain import propagate, run_chain
from dispensing.fitting.command import plain
from dispensing.fitting.documents import FittingPoints, parse_points
from dispensing.fitting.inputs import uncertain_inputs
from dispensing.fitting.measure import measure
from tests.fitting.simulate import Camera, Frame, Pose, Scene, figures_of, random_scene

SCENES = 2000
SEED = 20261125
QUANTITIES = (
    *(f"{eye}.{name}" for eye in ("right", "left") for name in ("pd_mm", "near_pd_mm", "height_mm", "a_mm", "b_mm")),
    "right.vertex_mm",
    "dbl_mm",
    "binocular_pd_mm",
    "pantoscopic_deg",
    "camera_distance_mm",
    "head_turn_deg",
)


@dataclass(frozen=True)
class Trial:
    """All errors of one quantity, with the standard deviations that were stated for them."""

    errors: np.ndarray
    stated: np.ndarray

    @property
    def covered(self) -> float:
        doubted = self.stated > 0  # a distance that was measured is taken as it is
        return float(np.mean(np.abs(self.errors[doubted]) <= 1.96 * self.stated[doubted]))

    def row(self, name: str) -> str:
        return (
            f"{name:20s} {len(self.errors):6d} {self.errors.mean():+8.3f} {self.errors.std():8.3f} "
            f"{np.sqrt(np.mean(self.stated**2)):8.3f} {100 * self.covered:7.1f} %"
        )


def points_of(scene: Scene, rng: np.random.Generator) -> FittingPoints:
    return parse_points(json.dumps(scene.marked(rng)))


def run_trials(scenes: list[Scene], rng: np.random.Generator) -> dict[str, Trial]:
    found: dict[str, list[tuple[float, float]]] = {}
    for scene in scenes:
        figures = figures_of(plain(measure(points_of(scene, rng))))
        for name, truth in scene.truth().items():
            figure = figures[name]
            found.setdefault(name, []).append((figure["value"] - truth, figure["plus_minus"] / 1.96))
    return {name: Trial(*np.array(rows).T) for name, rows in found.items()}


def print_table(title: str, trials: dict[str, Trial]) -> None:
    print(f"\n{title}\n{'quantity':20s} {'scenes':>6s} {'bias':>8s} {'SD':>8s} {'stated':>8s} {'covered':>9s}")
    for name, trial in trials.items():
        print(trial.row(name))


@pytest.fixture(scope="module")
def trials() -> dict[str, Trial]:
    rng = np.random.default_rng(SEED)
    found = run_trials([random_scene(rng) for _ in range(SCENES)], rng)
    print_table("Random wearers, frames, postures, cameras and marks", found)
    return found


@pytest.mark.parametrize("name", QUANTITIES)
def test_the_stated_plus_minus_holds_the_truth_about_nineteen_times_in_twenty(
    trials: dict[str, Trial], name: Any
) -> None:
    assert 0.93 <= trials[name].covered <= 0.97


@pytest.mark.parametrize("name", QUANTITIES)
def test_the_figures_have_no_bias_beyond_chance(trials: dict[str, Trial], name: Any) -> None:
    errors = trials[name].errors
    assert abs(errors.mean()) < 3.5 * errors.std() / np.sqrt(len(errors))


@pytest.mark.parametrize("name", QUANTITIES)
def test_the_stated_spread_is_the_spread_that_is_found(trials: dict[str, Trial], name: Any) -> None:
    stated = np.sqrt(np.mean(trials[name].stated ** 2))
    assert trials[name].errors.std() == pytest.approx(stated, rel=0.08)


def test_from_a_metre_a_binocular_pd_repeats_as_well_as_a_rule_and_a_height_nearly_so() -> None:
    rng = np.random.default_rng(SEED)
    camera = {"distance_mm": 1000.0, "focal_px": 4500.0}
    scenes = [random_scene(rng, scale_by="frame", gaze="camera", mark_sd_px=1.0) for _ in range(400)]
    scenes = [replace(scene, camera=replace(scene.camera, **camera)) for scene in scenes]
    found = run_trials(scenes, rng)
    print_table("A metre away, marks to 1 px", found)
    assert found["binocular_pd_mm"].errors.std() < 0.5
    # McMahon et al., Optom Vis Sci 89, 2012: a rule repeats within 1.1 mm, a pupillometer within 0.75 mm (95 %).
    assert 1.96 * found["binocular_pd_mm"].errors.std() < 1.1
    assert found["right.pd_mm"].errors.std() < 0.65
    assert found["right.height_mm"].errors.std() < 0.70


@pytest.mark.parametrize("distance_mm", [350.0, 450.0])
def test_at_arm_s_length_the_turn_of_the_head_is_as_unsure_as_a_camera_that_looks_aside_makes_it(
    distance_mm: float,
) -> None:
    rng = np.random.default_rng(SEED)
    scenes = [random_scene(rng, scale_by="frame", with_side=False, mark_sd_px=0.7) for _ in range(800)]
    near = [replace(scene, camera=replace(scene.camera, distance_mm=distance_mm)) for scene in scenes]
    found = run_trials(near, rng)
    print_table(f"{distance_mm:g} mm away, marks to 0.7 px", {"head_turn_deg": found["head_turn_deg"]})
    assert 0.93 <= found["head_turn_deg"].covered <= 0.97


def worn_scenes(rng: np.random.Generator, **known: object) -> list[Scene]:
    """Fronts as they are worn, tilted by 9° with 5° of face form, instead of flat and upright."""
    scenes = [random_scene(rng, scale_by="frame", **known) for _ in range(300)]
    worn: dict[str, Any] = {"tilted_in_front_photo": True, "pantoscopic_deg": 9.0, "face_form_deg": 5.0}
    return [replace(scene, frame=replace(scene.frame, **worn)) for scene in scenes]


def test_the_tilt_of_a_worn_front_moves_pd_and_height_by_less_than_a_third_of_a_millimetre() -> None:
    rng = np.random.default_rng(SEED)
    found = run_trials(worn_scenes(rng, face_form_given=True), rng)
    print_table("A front tilted by 9°, its 5° of face form given", found)
    for name in ("right.pd_mm", "left.pd_mm", "right.height_mm", "left.height_mm"):
        assert abs(found[name].errors.mean()) < 0.33
        assert found[name].covered > 0.92
    assert abs(found["binocular_pd_mm"].errors.mean()) < 0.15
    # The box is stated as it is seen, so B is short by the cosine of the tilt (1.2 %) and by being further away.
    assert found["right.b_mm"].errors.mean() == pytest.approx(-0.012 * 38, abs=0.2)
    assert abs(found["right.b_along_lens_mm"].errors.mean()) < 0.2
    assert found["right.b_along_lens_mm"].covered > 0.90
    # Along the lens, where labs measure, the tilt costs a height next to nothing.
    for eye in ("right", "left"):
        assert abs(found[f"{eye}.height_in_plane_mm"].errors.mean()) < 0.2
        assert found[f"{eye}.height_in_plane_mm"].covered > 0.92


def test_a_face_form_that_is_not_given_makes_the_binocular_pd_too_large_by_a_third_of_a_millimetre() -> None:
    """The reason why it can be given: the box centres of a bent front lie nearer together than A + DBL."""
    rng = np.random.default_rng(SEED)
    found = run_trials(worn_scenes(rng), rng)
    print_table("A front tilted by 9°, its 5° of face form not given", found)
    assert 0.2 < found["binocular_pd_mm"].errors.mean() < 0.7
    for name in ("right.pd_mm", "left.pd_mm"):
        assert found[name].covered > 0.90


def test_a_photo_within_the_usual_spreads_is_seldom_sent_back() -> None:
    rng = np.random.default_rng(SEED)
    sent_back = 0
    for _ in range(300):
        scene = random_scene(rng)
        level = replace(scene, pose=replace(scene.pose, roll_deg=0.5 * scene.pose.roll_deg))
        sent_back += bool(measure(points_of(level, rng)).retake)
    print(f"sent back: {sent_back} of 300 photos that were taken with the usual care")
    assert sent_back < 0.1 * 300


@pytest.mark.parametrize("gaze", ["camera", "far"])
@pytest.mark.parametrize("scale_by", ["frame", "card", "length"])
@pytest.mark.parametrize("distance_given", [True, False])
def test_propagation_by_derivative_agrees_with_ten_thousand_draws(
    gaze: str, scale_by: str, distance_given: bool
) -> None:
    rng = np.random.default_rng(SEED)
    scene = random_scene(rng, gaze=gaze, scale_by=scale_by, distance_given=distance_given, with_side=True)
    points = points_of(scene, rng)
    inputs = uncertain_inputs(points)
    draws = 10_000
    columns = {one.name: one.value + one.sd * rng.standard_normal(draws) for one in inputs}
    drawn = run_chain(points, columns, draws)
    propagated = propagate(points, inputs)
    stated = dict(zip(propagated.figures, propagated.sd, strict=True))
    for name in QUANTITIES:
        own = name.removeprefix("right.") if name.endswith("vertex_mm") else name
        assert np.std(drawn[own]) == pytest.approx(stated[own], rel=0.05, abs=1e-6), name


@pytest.mark.parametrize("scale_by", ["frame", "card", "length"])
@pytest.mark.parametrize("gaze", ["camera", "far"])
@pytest.mark.parametrize("distance_given", [True, False])
def test_marks_without_error_give_the_truth_to_the_last_digit(gaze: str, scale_by: str, distance_given: bool) -> None:
    rng = np.random.default_rng(SEED)
    scene = Scene(
        gaze=gaze,
        scale_by=scale_by,
        distance_given=distance_given,
        camera=Camera(distance_mm=450.0, aside_mm=-17.0, above_mm=28.0),
    )
    figures = figures_of(plain(measure(points_of(scene, rng))))
    for name, truth in scene.truth().items():
        assert figures[name]["value"] == pytest.approx(truth, abs=1e-7), name


def test_the_turn_seen_in_the_marks_is_coarser_than_the_usual_spread_of_a_turn() -> None:
    """Why the estimate is reported but never moves a PD: it knows less than is known without it, and at arm's length,
    where it knows as much, 5° of face form makes it read half as much again."""
    rng = np.random.default_rng(SEED)
    for distance, at_least in ((400.0, 0.9), (700.0, 1.9), (1000.0, 3.5)):
        scene = Scene(camera=Camera(distance_mm=distance), mark_sd_px=1.5)
        figure = figures_of(plain(measure(points_of(scene, rng))))["head_turn_deg"]
        assert figure["plus_minus"] / 1.96 > at_least
    wrapped = Scene(
        frame=Frame(tilted_in_front_photo=True, pantoscopic_deg=0.0, face_form_deg=5.0),
        camera=Camera(distance_mm=400.0),
        pose=Pose(turn_deg=2.0),
    )
    given = replace(wrapped, face_form_given=True)
    turn_of = [
        figures_of(plain(measure(points_of(scene, rng))))["head_turn_deg"]["value"] for scene in (wrapped, given)
    ]
    assert turn_of[0] > 2.6
    assert turn_of[1] == pytest.approx(2.0, abs=0.15)
