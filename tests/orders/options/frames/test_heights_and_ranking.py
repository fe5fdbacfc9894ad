"""Heights assumed in another frame, the figures frames are compared by, and their order: unknown ones last."""

from __future__ import annotations

import json

import pytest

from orders.documents.lens_order import FramePart, parse_order
from orders.options.change import changed
from orders.options.frames.comparison import FrameRow, compare_frames
from orders.options.frames.figures import (
    FIGURES,
    best_first,
    blank_needed_mm,
    clearance_above_mm,
    decentration_mm,
    front_width_mm,
    ranked,
    spare_height_mm,
)
from orders.options.frames.in_frame import heights_in
from orders.options.lenses.in_common import apart
from orders.rules.examples import clean_order, example_catalogue
from tests.known import there
from tests.orders.options.frames.stock import drawn

FRAME = FramePart(model="Deeper", mount="full_rim", a_mm=50.0, b_mm=44.0, dbl_mm=20.0)


def unmeasured(**design: str) -> object:
    document = json.loads(clean_order().model_dump_json())
    for eye in ("right", "left"):
        document["fitting"][eye]["height_mm"] = None
        document["lenses"][eye] |= design
    return parse_order(json.dumps(document))


def test_a_measured_eye_stays_as_far_above_the_middle_of_the_lens() -> None:
    order = changed(
        clean_order(), {"frame.b_mm": 36.0, "fitting.right.height_mm": 21.0, "fitting.left.height_mm": 22.5}
    )
    heights = heights_in(order, FRAME, {"right": "progressive", "left": "progressive"})
    assert (heights.right, heights.left, heights.from_fitting) == (25.0, 26.5, True)


@pytest.mark.parametrize(
    ("kind", "height"),
    [("progressive", 26.0), ("office", 26.0), ("bifocal", 18.0), ("trifocal", None), ("single_vision", None)],
)
def test_where_nobody_measured_the_eyes_are_taken_to_lie_as_is_usual(kind: str, height: float | None) -> None:
    order = changed(clean_order(), {"fitting.right.height_mm": None, "fitting.left.height_mm": None})
    heights = heights_in(order, FRAME, {"right": kind, "left": kind})  # type: ignore[dict-item]  # a word of the table
    assert (heights.right, heights.left, heights.from_fitting) == (height, height, False)


@pytest.mark.parametrize("unknown", [{"frame.b_mm": None}, {}])
def test_no_height_is_assumed_without_the_depth_of_either_frame(unknown: dict[str, None]) -> None:
    order = changed(clean_order(), unknown)
    frame = FRAME if unknown else FRAME.model_copy(update={"b_mm": None})
    assert heights_in(order, frame, {"right": "progressive"}).right is None


def rows_of(*frames: FramePart) -> tuple[FrameRow, ...]:
    return compare_frames(clean_order(), example_catalogue(), frames)


def test_the_figures_of_a_frame_are_those_of_its_worse_eye() -> None:
    order = changed(clean_order(), {"fitting.right.pd_mm": 30.0, "fitting.left.pd_mm": 33.0})
    row = compare_frames(order, example_catalogue(), [FRAME])[0]
    figures = row.computed
    assert decentration_mm(row) == figures.right.decentration_in_mm == 5.0
    assert figures.left.decentration_in_mm == 2.0
    needed = there(figures.right.blank_needed_mm), there(figures.left.blank_needed_mm)
    assert blank_needed_mm(row) == max(needed)
    assert needed[0] > needed[1]
    assert front_width_mm(row) == 120.0
    least = there(there(row.case.right.figures.corridor).min_height_mm)
    lower = min(there(row.offer.heights.right), there(row.offer.heights.left))
    assert spare_height_mm(row) == lower - least
    rooms = [there(eye.figures.clearance_above_mm) for eye in row.case.eyes]
    assert clearance_above_mm(row) == min(rooms)


def test_the_eye_that_is_farther_off_the_middle_counts_even_outwards() -> None:
    order = changed(clean_order(), {"fitting.right.pd_mm": 34.5, "fitting.left.pd_mm": 39.0})
    assert decentration_mm(compare_frames(order, example_catalogue(), [FRAME])[0]) == -4.0


@pytest.mark.parametrize("figure", sorted(set(FIGURES) - {"verdict"}))
@pytest.mark.parametrize("greatest_first", [False, True])
def test_a_figure_that_is_not_known_comes_last_whichever_way_and_never_as_zero(
    figure: str, greatest_first: bool
) -> None:
    unknown = FramePart(model="Unmeasured", mount="full_rim")
    rows = ranked(rows_of(unknown, *drawn(11, 6)), figure, greatest_first=greatest_first)
    assert [one.row.frame.model for one in rows if one.place is None] == ["Unmeasured"]
    assert rows[-1].place is None
    values = [there(FIGURES[figure](one.row)) for one in rows[:-1]]
    assert values == sorted(values, reverse=greatest_first)


def test_best_first_is_by_the_check_then_by_the_thickest_place_then_by_decentration() -> None:
    rows = best_first(rows_of(*drawn(12, 20)))
    keys = [
        (FIGURES["verdict"](row), there(FIGURES["thickest"](row)), there(FIGURES["decentration"](row))) for row in rows
    ]
    assert keys == sorted(keys)
    assert len({key[0] for key in keys}) > 1


def test_a_front_about_as_wide_as_the_one_worn_comes_before_narrower_and_wider_ones() -> None:
    def front(model: str, width: float) -> FramePart:
        return FRAME.model_copy(update={"model": model, "a_mm": (width - 18.0) / 2, "dbl_mm": 18.0})

    widths = {"Far narrower": 107.9, "Just narrower": 111.9, "As narrow": 112.0, "As wide": 124.0, "Just wider": 124.2}
    rows = rows_of(*(front(model, width) for model, width in widths.items()))
    assert {row.verdict for row in rows} == {rows[0].verdict}
    by_edge = [row.frame.model for row in best_first(rows)]
    assert by_edge[0] == "Far narrower"
    models = [row.frame.model for row in best_first(rows, worn_width_mm=118.0)]
    assert models == ["As narrow", "As wide", "Just narrower", "Just wider", "Far narrower"]


def test_what_is_found_in_every_frame_is_taken_apart_from_what_speaks_against_one() -> None:
    order = changed(clean_order(), {"supply": None})
    found = apart(compare_frames(order, example_catalogue(), drawn(13, 12)))
    common = {finding.rule for finding in found.common}
    assert "job-complete" in common
    for row in found.rows:
        assert not common & {finding.rule for finding in row.findings}
    assert {row.verdict for row in found.rows} - {"stop"}


def test_what_is_not_known_of_a_frame_has_its_reason() -> None:
    row = rows_of(FramePart(model="Unmeasured", mount="full_rim"))[0]
    whys = {one.why for one in row.unknown}
    assert whys == {"The shape of the frame is not known: neither a trace, nor A and B."}
