"""What is recorded about photos becomes the documents that are measured, and the figures that are kept."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from dispensing.documents import InvalidDocument
from dispensing.fitting.documents import EyeFitting, Figure, Fitting
from dispensing.fitting.doubts import unlike_the_record
from dispensing.fitting.kept import kept_figures, worked_out_near_pd
from dispensing.fitting.on_record import (
    FrameFacts,
    PhotoFacts,
    composed,
    first_marks,
    is_begun,
    is_marked,
    kept_marks,
    points_of,
)
from dispensing.fitting.several import SheetMeasured, measure_groups
from tests.fitting.marks import good_points, measured
from tests.fitting.simulate import HEIGHT_PX, WIDTH_PX

FRAME = FrameFacts(a_mm=52.0, b_mm=38.0, dbl_mm=18.0)
KNOWN = ("width_px", "height_px", "focal_px")


def photo(view: str, number: int = 1, **marks: Any) -> PhotoFacts:
    """A photo of the usual scene, marked by hand; what the record knows is not among its marks."""
    part = good_points()[view]
    sizes = {"width_px": int(part["width_px"]), "height_px": int(part["height_px"])}
    by_hand = {name: value for name, value in part.items() if name not in KNOWN and value is not None}
    scale = {"scale": {"by": "frame"}} if view == "front" else {}
    return PhotoFacts(
        number=number,
        view="front" if view == "front" else "side",
        focal_px=part.get("focal_px"),
        focal_percent=2.0,
        marks={**by_hand, **scale, **marks},
        **sizes,
    )


def test_what_the_record_knows_is_put_in_and_taken_out_again() -> None:
    forged = photo("front", scale={"by": "frame", "a_mm": 30.0, "dbl_mm": 5.0}, width_px=5.0, focal_px=1.0)
    points = points_of(forged, FRAME, 400.0)
    assert points.front is not None
    assert points.front.scale is not None
    assert (points.front.scale.a_mm, points.front.scale.dbl_mm) == (52.0, 18.0)
    assert (points.front.width_px, points.front.height_px) == (WIDTH_PX, HEIGHT_PX)
    assert points.front.focal_px == forged.focal_px
    assert points.near_distance_mm == 400.0
    kept = kept_marks(points)
    assert kept["scale"] == {"by": "frame"}
    assert not {"width_px", "height_px", "focal_px"} & set(kept)
    assert points_of(replace(forged, marks=kept), FRAME, 400.0) == points


def test_a_side_photo_has_no_focal_length_and_keeps_its_own_known_length() -> None:
    points = points_of(photo("side"), FRAME, 400.0)
    assert points.front is None
    assert points.side is not None
    assert points.side.scale is not None
    assert points.side.scale.by == "length"
    assert kept_marks(points)["scale"]["length_mm"] == points.side.scale.length_mm


def test_marks_that_are_none_are_refused() -> None:
    with pytest.raises(InvalidDocument, match=r"\$\.front\.right\.pupil"):
        points_of(photo("front", right={"pupil": [1.0]}), FRAME, 400.0)


def test_a_photo_is_marked_once_a_mark_is_on_it_and_not_by_what_is_said_about_it() -> None:
    assert not is_marked({"gaze": "camera", "scale": {"by": "frame"}})
    assert is_marked({"left": {"pupil": [1.0, 2.0]}})
    assert is_marked({"level": [[0.0, 1.0], [9.0, 1.0]]})
    assert not is_begun(points_of(replace(photo("front"), marks={"gaze": "far"}), FRAME, 400.0))
    assert is_begun(points_of(photo("front"), FRAME, 400.0))


def test_before_anything_is_marked_the_usual_way_is_set_and_a_measured_face_form_is_taken() -> None:
    assert first_marks("front", FRAME, None) == {"gaze": "camera", "scale": {"by": "frame"}}
    assert first_marks("front", replace(FRAME, dbl_mm=None), 7.0) == {"gaze": "camera", "face_form_deg": 7.0}
    assert first_marks("side", FRAME, 7.0) == {}


def test_photos_are_composed_as_they_were_worn_with_the_side_photo_beside_the_front() -> None:
    (group,) = composed([photo("side", 1), photo("front", 2)], replace(FRAME, front_curve_d=8.0), 400.0)
    assert group.numbers == (2, 1)
    assert group.points.front is not None
    assert group.points.front.face_form_deg == 15.0  # a front of curve 8 is wrapped
    assert group.points.side is not None
    assert group.points.spreads is not None
    assert group.points.spreads.focal_percent == 2.0
    found = measure_groups([group]).fitting
    assert found.right.vertex_mm is not None


def test_an_unmeasured_face_form_is_taken_as_usual_from_the_record_and_as_flat_from_a_bare_file() -> None:
    """A file says itself what it takes as exact; a field that was left empty says nothing."""
    points = good_points(with_side=False)
    bare = measured(points).right.pd_mm
    (group,) = composed([photo("front")], FRAME, 400.0)
    worn = measure_groups([group]).fitting.right.pd_mm
    assert bare is not None
    assert worn is not None
    assert bare.value == pytest.approx(31.5, abs=0.02)
    assert worn.value - bare.value == pytest.approx(-0.28, abs=0.02)
    assert worn.plus_minus > bare.plus_minus


def figure(value: float, plus_minus: float = 0.5) -> Figure:
    return Figure(value=value, plus_minus=plus_minus)


def test_the_figures_that_are_kept_are_those_of_a_fitting_with_the_near_pd_through_the_prescribed_lens() -> None:
    right = EyeFitting(pd_mm=figure(31.5), near_pd_mm=figure(20.0), a_mm=figure(52.0), vertex_mm=figure(14.0))
    left = EyeFitting(height_mm=figure(22.0, 0.8))
    measured_so = Fitting(right=right, left=left, pantoscopic_deg=figure(9.0), dbl_mm=figure(18.0))
    read_twice = {"right.pd_mm": (31.0, 32.0), "left.pd_mm": (1.0, 2.0)}
    found = kept_figures(SheetMeasured(measured_so, (), read_twice), 400.0, {"right": -6.0})
    near = 31.5 - 31.5 / (1 + 400 * (1 / 27.5 + 6 / 1000))
    assert [(one.quantity, one.eye, round(one.figure.value, 4), one.method) for one in found] == [
        ("pd_mm", "right", 31.5, "photo"),
        ("vertex_mm", "right", 14.0, "photo"),
        ("near_pd_mm", "right", round(near, 4), "calculated"),
        ("height_mm", "left", 22.0, "photo"),
        ("pantoscopic_deg", "both", 9.0, "photo"),
    ]
    assert [one.readings for one in found] == [(31.0, 32.0), (), (), (), ()]
    assert [one.figure.plus_minus for one in found] == pytest.approx([0.5, 0.5, 0.5 * near / 31.5, 0.8, 0.5])


def test_a_near_pd_is_as_uncertain_as_its_far_pd_by_the_factor_between_them() -> None:
    near = worked_out_near_pd(31.5, 0.7, 400.0, None, 0.0)
    assert near is not None
    assert near.value == pytest.approx(31.5 * 400 / 427)
    assert near.plus_minus == pytest.approx(0.7 * 400 / 427)
    unknown = worked_out_near_pd(31.5, None, 400.0, None, 0.0)
    assert unknown is not None
    assert unknown.plus_minus is None
    assert worked_out_near_pd(31.5, 0.7, 20.0, None, 0.0) is None


def test_sizes_that_are_not_the_recorded_frame_s_are_said_with_what_to_look_at() -> None:
    found = measured(good_points())
    assert unlike_the_record(found, FRAME) == []
    assert unlike_the_record(found, FrameFacts()) == []
    (doubt,) = unlike_the_record(found, replace(FRAME, b_mm=34.0, dbl_mm=25.0))
    assert doubt.advice == "look whether this is the frame, and its sizes are recorded rightly"
    assert doubt.figures == (
        "B comes out as 38.5 mm; recorded is 34 mm",
        "DBL comes out as 18.0 mm; recorded is 25 mm",
    )


@pytest.mark.parametrize(("a_mm", "doubted"), [(53.79, False), (53.81, True), (50.21, False), (50.19, True)])
def test_sizes_differ_by_more_than_the_wider_of_both_eyes_and_a_millimetre(a_mm: float, doubted: bool) -> None:
    right, left = Figure(value=a_mm, plus_minus=0.2), Figure(value=a_mm, plus_minus=0.8)
    found = Fitting(right=EyeFitting(a_mm=right), left=EyeFitting(a_mm=left), dbl_mm=Figure(value=18.0, plus_minus=0.1))
    assert [doubt.figures for doubt in unlike_the_record(found, FRAME)] == (
        [(f"A comes out as {a_mm:.1f} mm; recorded is 52 mm",)] if doubted else []
    )
