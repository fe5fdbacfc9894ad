"""The same face drawn larger, mirrored or shifted must measure the same; hypothesis chooses the faces."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fitting.marks import figures
from tests.fitting.simulate import figures_of, random_scene

seeds = st.integers(0, 2**32 - 1)
EYE_FIGURES = ("pd_mm", "near_pd_mm", "height_mm", "a_mm", "b_mm", "vertex_mm")


def random_points(seed: int) -> dict[str, Any]:
    rng = np.random.default_rng(seed)
    return random_scene(rng).marked(rng)


def mapped(value: Any, point: Any) -> Any:
    """The document with every mark moved by ``point``."""
    if isinstance(value, list) and len(value) == 2 and all(isinstance(one, float) for one in value):
        return point(value)
    if isinstance(value, list):
        return [mapped(one, point) for one in value]
    if isinstance(value, dict):
        return {key: mapped(one, point) for key, one in value.items()}
    return value


@settings(max_examples=40)
@given(seeds, st.floats(0.25, 4.0))
def test_a_photo_stored_larger_or_smaller_measures_the_same(seed: Any, factor: Any) -> None:
    points = random_points(seed)
    scaled = mapped(points, lambda mark: [mark[0] * factor, mark[1] * factor])
    for photo in ("front", "side"):
        if scaled[photo] is not None:
            for name in ("width_px", "height_px", "mark_sd_px", "focal_px"):
                if scaled[photo].get(name) is not None:
                    scaled[photo][name] *= factor
    original, resized = figures_of(figures(points)), figures_of(figures(scaled))
    assert original.keys() == resized.keys()
    for name, figure in original.items():
        assert resized[name]["value"] == pytest.approx(figure["value"], rel=1e-6, abs=1e-6), name
        assert resized[name]["plus_minus"] == pytest.approx(figure["plus_minus"], rel=1e-4, abs=1e-6), name


@settings(max_examples=40)
@given(seeds)
def test_a_mirrored_photo_exchanges_the_eyes(seed: Any) -> None:
    points = random_points(seed)
    mirrored = {**points, "side": None, "front": mapped(points["front"], lambda mark: [4000 - mark[0], mark[1]])}
    mirrored["front"]["right"], mirrored["front"]["left"] = mirrored["front"]["left"], mirrored["front"]["right"]
    original, seen = figures({**points, "side": None}), figures(mirrored)
    for eye, other in (("right", "left"), ("left", "right")):
        for name in EYE_FIGURES[:5]:
            assert seen[other][name]["value"] == pytest.approx(original[eye][name]["value"], abs=1e-6), name
            assert seen[other][name]["plus_minus"] == pytest.approx(original[eye][name]["plus_minus"], rel=1e-4)
    assert seen["head_turn_deg"]["value"] == pytest.approx(-original["head_turn_deg"]["value"], abs=1e-6)


@settings(max_examples=40)
@given(seeds)
def test_a_side_photo_from_the_other_side_measures_the_same(seed: Any) -> None:
    rng = np.random.default_rng(seed)
    points = {**random_scene(rng, with_side=True).marked(rng), "front": None}
    mirrored = mapped(points, lambda mark: [3000 - mark[0], mark[1]])
    original, seen = figures_of(figures(points)), figures_of(figures(mirrored))
    for name, figure in original.items():
        assert seen[name]["value"] == pytest.approx(figure["value"], abs=1e-6), name


numbers = st.one_of(st.none(), st.floats(-1e6, 1e6), st.just(0.0), st.just(1e308))
marks = st.one_of(st.none(), st.tuples(st.floats(-1e5, 1e5), st.floats(-1e5, 1e5)).map(list))
boxes = st.one_of(
    st.none(), st.fixed_dictionaries(dict.fromkeys(("pupil", "nasal", "temporal", "top", "bottom"), marks))
)
scales = st.one_of(
    st.none(),
    st.fixed_dictionaries(
        {
            "by": st.sampled_from(["frame", "card", "length"]),
            "a_mm": numbers,
            "dbl_mm": numbers,
            "length_mm": numbers,
            "ends": st.one_of(st.none(), st.tuples(marks, marks).filter(all).map(list)),
            "in_front_of_lens_plane_mm": numbers,
        }
    ),
)
fronts = st.fixed_dictionaries(
    {
        "width_px": numbers,
        "height_px": numbers,
        "focal_px": numbers,
        "camera_distance_mm": numbers,
        "gaze": st.sampled_from([None, "camera", "far"]),
        "scale": scales,
        "right": boxes,
        "left": boxes,
        "mark_sd_px": numbers,
    }
)
sides = st.fixed_dictionaries(
    {
        "width_px": numbers,
        "height_px": numbers,
        "rim_top": marks,
        "rim_bottom": marks,
        "cornea": marks,
        "level": st.one_of(st.none(), st.tuples(marks, marks).filter(all).map(list)),
        "scale": scales,
    }
)


@settings(max_examples=150)
@given(st.one_of(st.none(), fronts), st.one_of(st.none(), sides))
def test_senseless_numbers_are_answered_with_null_and_a_reason_never_with_a_crash(front: Any, side: Any) -> None:
    found = figures({"format": "fitting-points/1", "front": front, "side": side})
    for figure in figures_of(found).values():
        assert np.isfinite([figure["value"], figure["plus_minus"]]).all()
    if found["right"]["pd_mm"] is None and found["pantoscopic_deg"] is None:
        assert found["retake"]
