"""The one writer of drawings: bounds, letters and sizes, read back from the SVG."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from dispensing.pictures.picture import Picture
from tests.known import there


def written(picture: Picture, **size: float) -> ET.Element:
    return ET.fromstring(picture.svg(title="A title", description="What it shows", **size))


def view(picture: Picture, **size: float) -> list[float]:
    return [float(value) for value in there(written(picture, **size).get("viewBox")).split()]


def test_a_picture_of_nothing_is_one_millimetre_square() -> None:
    assert view(Picture()) == [0.0, -1.0, 1.0, 1.0]


def test_the_bounds_hold_what_is_drawn_and_a_margin_with_up_upwards() -> None:
    picture = Picture()
    picture.line((-10.0, 5.0), (30.0, 25.0), "axis-line")
    assert view(picture, margin=2.0) == [-12.0, -27.0, 44.0, 24.0]
    assert picture.extent == (-10.0, 30.0, 5.0, 25.0)


@pytest.mark.parametrize(("scale", "wide", "tall"), [(1.0, "44mm", "24mm"), (0.5, "22mm", "12mm")])
def test_a_picture_is_so_many_times_life_size(scale: float, wide: str, tall: str) -> None:
    picture = Picture()
    picture.line((-10.0, 5.0), (30.0, 25.0), "axis-line")
    root = written(picture, scale=scale, margin=2.0)
    assert (root.get("width"), root.get("height")) == (wide, tall)


@pytest.mark.parametrize(("anchor", "left"), [("start", 0.0), ("middle", -0.5), ("end", -1.0)])
def test_letters_reach_to_the_side_that_they_are_not_anchored_at(anchor: str, left: float) -> None:
    picture = Picture()
    picture.text((5.0, 5.0), "31.5 mm", anchor=anchor)
    low, high, _, _ = picture.extent
    assert high - low > 5.0
    assert low == pytest.approx(5.0 + left * (high - low))


def test_title_and_description_are_read_out() -> None:
    parts = {part.tag.rpartition("}")[2]: part.text for part in written(Picture())}
    assert (parts["title"], parts["desc"]) == ("A title", "What it shows")
