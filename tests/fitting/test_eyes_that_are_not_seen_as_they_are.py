"""Eyes seen through lenses of a known power, and eyes that are turned: corrected, or named, and never averaged in."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from dispensing.fitting.as_worn import as_worn
from dispensing.fitting.documents import Eye, Fitting, parse_points
from dispensing.fitting.measure import measure
from dispensing.fitting.on_record import FrameFacts, PhotoFacts, kept_marks, points_of
from dispensing.fitting.retake import LEVERS
from dispensing.fitting.several import measure_sheet
from dispensing.fitting.worn_lens import kept_worn
from tests.fitting.marks import good_points, measured
from tests.fitting.outside_the_studio import named
from tests.fitting.simulate import Wearer
from tests.known import there

UNEQUAL = Wearer(pd_right_mm=30.0, pd_left_mm=33.0, height_right_mm=23.0, height_left_mm=21.0)


def through(power_d: float, worn: Any, **scene: Any) -> Fitting:
    usual = {"wearer": UNEQUAL, "worn_d": power_d, "worn_centre_off_mm": (2.0, 1.5)}
    points = good_points(with_side=False, **(usual | scene))
    points["front"]["extra"] = {"worn": worn}
    return measured(points)


def centred(power_d: float) -> dict[str, Any]:
    """Worn centres 2 mm further in than the eyes, 1.5 mm above half of B."""
    return {
        "right": {"sphere": power_d, "pd_mm": 28.0, "height_mm": 20.5},
        "left": {"sphere": power_d, "pd_mm": 31.0, "height_mm": 20.5},
    }


@pytest.mark.parametrize("gaze", ["camera", "far"])
@pytest.mark.parametrize("power_d", [-10.0, 6.0])
def test_an_eye_seen_through_a_lens_of_known_power_is_where_it_is_without_it(power_d: float, gaze: str) -> None:
    told, untold = through(power_d, centred(power_d), gaze=gaze), through(power_d, {}, gaze=gaze)
    sides: tuple[tuple[Eye, float, float], ...] = (("right", 30.0, 23.0), ("left", 33.0, 21.0))
    for eye, pd, height in sides:
        corrected = told.eye(eye)
        assert there(corrected.pd_mm).value == pytest.approx(pd, abs=0.06)
        assert there(corrected.height_mm).value == pytest.approx(height, abs=0.06)
    if gaze == "camera":
        assert abs(there(untold.right.pd_mm).value - 30.0) > 0.1
        assert abs(there(untold.binocular_pd_mm).value - 63.0) > 0.3


def test_the_doubt_of_a_lens_s_centre_is_in_the_plus_minus_and_has_its_share() -> None:
    none, told = through(-8.0, {}), through(-8.0, centred(-8.0))
    assumed = through(-8.0, {eye: {"sphere": -8.0} for eye in ("right", "left")})
    doubts = [there(one.binocular_pd_mm).plus_minus for one in (none, told, assumed)]
    assert doubts == sorted(doubts)
    source = "where the worn lens is centred"
    assert assumed.shares["binocular_pd_mm"][source] > told.shares["binocular_pd_mm"][source] > 0
    assert source not in none.shares["binocular_pd_mm"]
    assert source in LEVERS


def test_a_cylinder_bends_across_its_axis_and_not_along_it() -> None:
    """-6 x 90 acts sideways as -6 D and not up and down; x 180 the other way round."""
    bare = through(0.0, {})
    for axis, name, same in ((90, "pd_mm", "height_mm"), (180, "height_mm", "pd_mm")):
        lens = {"sphere": 0.0, "cylinder": -6.0, "axis": axis, "pd_mm": 28.0, "height_mm": 20.5}
        found = through(0.0, {"right": lens})
        sphere = through(0.0, {"right": {**lens, "sphere": -6.0, "cylinder": 0.0}})
        assert there(getattr(found.right, name)).value == pytest.approx(
            there(getattr(sphere.right, name)).value, abs=1e-6
        )
        assert there(getattr(found.right, same)).value == pytest.approx(
            there(getattr(bare.right, same)).value, abs=1e-6
        )
        assert found.left == bare.left


@pytest.mark.parametrize("worn", [None, 7, {"right": 3}, {"right": {"sphere": "x"}}, {"right": {"sphere": 31.0}}])
def test_what_is_no_lens_is_none(worn: Any) -> None:
    assert kept_worn({"worn": worn}) == {}
    assert through(0.0, worn) == through(0.0, {})


def turned(out: tuple[float, float], mark_sd_px: float = 0.4, reflections: bool = True) -> Fitting:
    points = good_points(with_side=False, turned_out_deg=out, reflections=reflections)
    points["front"]["mark_sd_px"] = mark_sd_px
    return measured(points)


@pytest.mark.parametrize(
    ("out", "says"),
    [
        ((15.0, 0.0), "the right eye is turned out by about 15°"),
        ((-15.0, 0.0), "the right eye is turned in by about 15°"),
        ((0.0, 15.0), "the left eye is turned out by about 15°"),
        ((0.0, -15.0), "the left eye is turned in by about 15°"),
    ],
)
def test_a_turned_eye_is_named_and_only_the_other_one_measured(out: tuple[float, float], says: str) -> None:
    found = turned(out)
    [told] = found.told("turned_eye")
    assert told.startswith(says)
    sides: tuple[Eye, Eye] = ("right", "left") if out[0] else ("left", "right")
    eye, other = sides
    assert f"cover the {other} eye" in told
    assert there(found.eye(other).pd_mm).value == pytest.approx(31.5, abs=0.05)
    assert found.eye(eye).pd_mm is None
    assert found.eye(eye).height_mm is None
    assert found.binocular_pd_mm is None
    assert found.eye(eye).a_mm is not None
    assert found.take_again == ()


@pytest.mark.parametrize(("out", "mark_sd_px"), [(0.0, 0.4), (5.8, 0.05), (15.0, 4.0)])
def test_an_eye_is_not_named_below_six_degrees_nor_by_marks_too_coarse_to_tell(out: float, mark_sd_px: float) -> None:
    found = turned((out, 0.0), mark_sd_px)
    assert found.told("turned_eye") == ()
    assert found.right.pd_mm is not None


def test_without_the_reflections_nothing_is_said_of_a_turn() -> None:
    assert turned((15.0, 0.0), reflections=False).told("turned_eye") == ()


def test_of_two_photos_with_either_eye_looking_each_gives_its_own_eye() -> None:
    photos = []
    for out in ((15.0, 0.0), (0.0, 15.0)):
        points = good_points(with_side=False, turned_out_deg=out, reflections=True, wearer=UNEQUAL)
        points["front"]["mark_sd_px"] = 0.4
        photos.append(as_worn(parse_points(json.dumps(points))))
    found = measure_sheet(photos).fitting
    assert there(found.right.pd_mm).value == there(measure(photos[1]).right.pd_mm).value
    assert there(found.left.pd_mm).value == there(measure(photos[0]).left.pd_mm).value
    assert [told.split(": ")[0] for told in found.told("turned_eye")] == ["Photo 1", "Photo 2"]


def test_turned_eyes_of_photos_by_hand_are_named_more_often_than_wrongly() -> None:
    right, wrong = named(20, 30, 40)
    assert right > 0.75
    assert wrong < 0.1


def test_the_record_keeps_lenses_and_reflections_and_nothing_that_is_none() -> None:
    extra = {
        "worn": {"right": {"sphere": -8.0, "x": 1}},
        "reflection": {"right": [1.5, 2], "left": ["x", 2], "up": [1, 2]},
    }
    sent = {"gaze": "camera", "scale": {"by": "frame"}, "extra": extra}
    points = points_of(PhotoFacts(1, "front", 4000, 3000, 3300.0, 1.0, sent), FrameFacts(52.0, 38.0, 18.0), 400.0)
    assert kept_marks(points)["extra"] == {"worn": {"right": {"sphere": -8.0}}, "reflection": {"right": [1.5, 2.0]}}
    assert np.isfinite(there(points.front).width_px or np.nan)
