"""Cross-sections of different lenses in one frame are equally wide if asked to be, so that they are at one scale."""

from __future__ import annotations

import re

from orders.documents.lens_order import LensOrder
from orders.drawings import thickness_drawing
from orders.options.change import changed
from orders.rules.examples import clean_order, example_catalogue
from tests.known import there


def order_of(sphere: float) -> LensOrder:
    return changed(clean_order(), {f"prescription.{eye}.sphere": sphere for eye in ("right", "left")})


def width(sphere: float, *, one_width: bool) -> float:
    drawn = thickness_drawing(order_of(sphere), example_catalogue(), lettering=1.5, one_width=one_width)
    return float(there(re.search(r'viewBox="\S+ \S+ (\S+) ', drawn)).group(1))


def test_a_strong_lens_and_a_weak_one_are_drawn_equally_wide_where_that_is_asked_for() -> None:
    assert width(-15.0, one_width=False) != width(-1.0, one_width=False)
    assert width(-15.0, one_width=True) == width(-1.0, one_width=True)
    assert width(-15.0, one_width=True) > width(-15.0, one_width=False)


def test_larger_letters_stand_clear_of_the_section() -> None:
    def lowest(lettering: float) -> float:
        drawn = thickness_drawing(order_of(-4.0), example_catalogue(), lettering=lettering)
        figures = re.findall(r'<text class="drawing-figure"[^>]*\by="([^"]+)"', drawn)
        return max(float(y) for y in figures)

    assert lowest(2.0) - lowest(1.0) == 2.5
