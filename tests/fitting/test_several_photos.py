"""Several photos of one wearer: a side photo helps every front photo and is counted once."""

from __future__ import annotations

import json
from typing import Any

import pytest

from dispensing.fitting.combine import combine
from dispensing.fitting.documents import FittingPoints, parse_points
from dispensing.fitting.measure import measure
from dispensing.fitting.several import measure_several
from tests.fitting.marks import good_points
from tests.fitting.simulate import Wearer


def only(view: str, **scene: Any) -> FittingPoints:
    other = {"front": "side", "side": "front"}[view]
    return parse_points(json.dumps(good_points(**scene) | {other: None}))


def test_a_front_photo_is_measured_with_the_side_photo_s_vertex_distance():
    deep = {"wearer": Wearer(vertex_mm=18.0)}
    alone = measure(only("front", **deep))
    (together,) = measure_several([only("front", **deep)], [only("side", **deep)])
    assert together.right.vertex_mm is not None
    assert together.right.vertex_mm.value == pytest.approx(18.0, abs=0.05)
    assert together.right.pd_mm is not None
    assert together.right.pd_mm.value == pytest.approx(31.5, abs=0.02)
    assert alone.right.pd_mm is not None
    assert alone.right.pd_mm.value < 31.4


def test_two_front_photos_share_a_side_photo_and_its_figures_keep_their_plus_minus():
    front, side = only("front"), only("side")
    one = combine(measure_several([front], [side])).fitting
    two = combine(measure_several([front, front], [side])).fitting
    assert two.pantoscopic_deg == one.pantoscopic_deg
    assert two.left.vertex_mm == one.left.vertex_mm
    assert two.right.pd_mm is not None
    assert one.right.pd_mm is not None
    assert two.right.pd_mm.plus_minus < one.right.pd_mm.plus_minus


def test_side_photos_beyond_the_front_photos_count_by_themselves():
    front, side = only("front"), only("side")
    fittings = measure_several([front], [side, side, side])
    assert len(fittings) == 3
    assert [fitting.right.pd_mm is None for fitting in fittings] == [False, True, True]
    assert all(fitting.pantoscopic_deg is not None for fitting in fittings)


def test_side_photos_alone_tell_tilt_and_vertex_distance():
    (fitting,) = measure_several([], [only("side")])
    assert fitting.pantoscopic_deg is not None
    assert fitting.right.pd_mm is None
