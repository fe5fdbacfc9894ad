"""Segments in the drawing: a flat-top of 28 by 19 has its top where the order puts it, and is cut by the shape."""

from __future__ import annotations

import json
from typing import Any

import pytest

from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.drawings import order_drawing
from orders.drawings.hatching import hatch_lines
from orders.drawings.segments import segment_outline
from tests.orders.drawings.test_order_drawing import Drawn, box
from tests.orders.orders_on_paper import order
from tests.orders.shop import CATALOGUE


def bifocal(shape: Any = "d", width: int = 28, depth: Any = 19) -> LensCatalogue:
    design = {
        "id": "bif",
        "name": "Bifocal",
        "kind": "bifocal",
        "materials": ["m160"],
        "segment": {"shape": shape, "width_mm": width, "depth_mm": depth, "inset_mm": 2.0},
        "blanks": [{"diameter_mm": 70}],
    }
    return parse_catalogue(json.dumps({**CATALOGUE, "designs": [design]}))


def segments(catalogue: LensCatalogue, **changes: Any) -> Any:
    lens = {"design": "bif", "material": "m160", "treatments": []}
    chosen = order(lenses__right=lens, lenses__left=lens, **changes)
    return Drawn(order_drawing(chosen, catalogue)).points("segment")


def test_a_flat_top_is_as_wide_and_deep_as_it_is_called() -> None:
    left, right, bottom, top = box(segment_outline((0.0, 0.0), 28.0, 19.0))
    assert (left, right) == pytest.approx((-14.0, 14.0), abs=0.05)
    assert (bottom, top) == pytest.approx((-19.0, 0.0), abs=0.05)


@pytest.mark.parametrize("depth", [None, 28.0, 40.0])
def test_a_round_segment_is_a_whole_circle(depth: float | None) -> None:
    assert box(segment_outline((3.0, 5.0), 28.0, depth)) == pytest.approx((-11.0, 17.0, -23.0, 5.0), abs=0.05)


def test_the_top_stands_at_the_ordered_height_inset_towards_the_nose() -> None:
    (right, left) = segments(bifocal(width=20, depth=14), fitting__right__height_mm=18.0, fitting__left__height_mm=18.0)
    assert box(right)[3] == pytest.approx(-2.0, abs=0.05)
    assert (box(right)[0] + box(right)[1]) / 2 == pytest.approx(-31.0 + 2.0, abs=0.1)
    assert (box(left)[0] + box(left)[1]) / 2 == pytest.approx(32.5 - 2.0, abs=0.1)


def test_what_the_frame_cuts_from_the_segment_is_not_drawn() -> None:
    parts = segments(bifocal(), fitting__right__height_mm=12.0, fitting__left__height_mm=12.0)
    assert min(y for part in parts for _, y in part) >= -20.01


def test_a_straight_segment_runs_across_the_whole_lens() -> None:
    right, left = segments(bifocal("full width"), fitting__right__height_mm=20.0, fitting__left__height_mm=20.0)
    assert box(right)[:2] == pytest.approx((-59, -9), abs=0.3)
    assert box(left)[2] == box(left)[3] == 0.0


def test_hatching_fills_a_square_with_parallel_lines_inside_it() -> None:
    import numpy as np

    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    lines = hatch_lines(square)
    assert len(lines) == 15
    for start, end in lines:
        assert np.all((start > -1e-9) & (start < 10 + 1e-9) & (end > -1e-9) & (end < 10 + 1e-9))
        assert (end - start)[0] == pytest.approx((end - start)[1])
