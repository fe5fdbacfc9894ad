"""The edge all round, unrolled: as long as the shape's edge, as thick as the lens, with the figures of the report."""

from __future__ import annotations

import re

import numpy as np
import pytest

from orders.documents.lens_order import Eye, LensOrder
from orders.drawings import edge_drawing
from orders.drawings.layout import pair_layout
from orders.options.change import changed
from orders.rules import check
from orders.rules.examples import clean_order, example_catalogue
from tests.known import there


def order_of(sphere: float) -> LensOrder:
    return changed(clean_order(), {f"prescription.{eye}.sphere": sphere for eye in ("right", "left")})


def bands(drawn: str) -> list[np.ndarray]:
    """The corners of each band, y up."""
    found = re.findall(r'<polygon [^>]*points="([^"]+)"', drawn)
    return [np.array([[float(x) for x in pair.split(",")] for pair in one.split()]) * (1, -1) for one in found]


@pytest.mark.parametrize("sphere", [-8.0, 5.0])
def test_a_band_is_as_long_as_the_edge_and_as_thick_as_the_report_says(sphere: float) -> None:
    order, catalogue = order_of(sphere), example_catalogue()
    computed = check(order, catalogue).computed
    drawn = bands(edge_drawing(order, catalogue))
    assert len(drawn) == 2
    for band, eye in zip(drawn, ("right", "left"), strict=True):
        figures, layout = getattr(computed, eye), pair_layout(order, catalogue)
        body = there(next(one for one in layout.eyes if one.eye == eye).body)
        corners = body.shape.points_in_up()
        length = np.hypot(*(corners - np.roll(corners, -1, axis=0)).T).sum()
        assert np.ptp(band[:, 0]) == pytest.approx(length, abs=0.01)
        base = band[:, 1].min()
        edge = band[:-2, 1] - base
        assert edge.max() == pytest.approx(figures.edge_max_mm, abs=0.002)
        assert edge.min() == pytest.approx(figures.edge_min_mm, abs=0.002)


def test_the_thickest_place_lies_where_the_words_and_the_body_say() -> None:
    order, catalogue = order_of(-8.0), example_catalogue()
    drawn = edge_drawing(order, catalogue)
    layout = pair_layout(order, catalogue)
    said = there(re.search("<desc>(.*)</desc>", drawn)).group(1)
    for one in layout.eyes:
        body = there(one.body)
        inwards, upwards = body.thickest_at
        wide = abs(inwards) > abs(upwards)
        place = ("nose" if inwards > 0 else "temple") if wide else ("top" if upwards > 0 else "bottom")
        assert f"{one.eye.capitalize()} lens: edge at most {body.edge_max_mm:.1f} mm at the {place}" in said


def test_the_figures_on_the_bands_are_the_greatest_and_the_least_edge() -> None:
    drawn = edge_drawing(order_of(-8.0), example_catalogue(), headings=("OD", "OS"))
    texts = re.findall(r"<text [^>]*>([^<]+)</text>", drawn)
    computed = check(order_of(-8.0), example_catalogue()).computed
    eyes: tuple[Eye, Eye] = ("right", "left")
    wanted = {f"{getattr(getattr(computed, eye), key):.1f}" for eye in eyes for key in ("edge_max_mm", "edge_min_mm")}
    assert wanted == {text for text in texts if re.fullmatch(r"[\d.]+", text)}
    assert [text for text in texts if "nose" in text] == ["OD  nose", "nose", "OS  nose", "nose"]


def test_lenses_in_one_frame_are_drawn_equally_wide() -> None:
    def width(sphere: float) -> str:
        return there(re.search(r'viewBox="\S+ \S+ (\S+) ', edge_drawing(order_of(sphere), example_catalogue()))).group(
            1
        )

    assert width(-15.0) == width(-1.0)


def test_nothing_is_drawn_of_lenses_that_are_not_known() -> None:
    order = order_of(-2.0)
    unknown = order.model_copy(update={"frame": order.frame.model_copy(update={"a_mm": None})})
    assert edge_drawing(unknown, example_catalogue()) == ""
    alone = order.model_copy(update={"lenses": order.lenses.model_copy(update={"left": None})})
    assert len(bands(edge_drawing(alone, example_catalogue()))) == 1
