"""The drawings of a finished pair: a target of power vectors, and where the centres lie; asked by their geometry."""

from __future__ import annotations

import math

import pytest

from dispensing.optics.power import SphereCylinder
from orders.documents.lens_order import Eye
from orders.drawings.centres_found import CentreFound, centres_drawing
from orders.drawings.power_error import PowerError, power_error_drawing
from tests.orders.verification.pairs import eye, order

ORDERED = SphereCylinder(-3.25, -1.0, 170.0)


def error(found: SphereCylinder, ordered: SphereCylinder = ORDERED, axis: float | None = 4.0) -> PowerError:
    return PowerError(ordered, found, cylinder_d=0.12, axis_deg=axis, mean_d=0.12, uncertainty_d=0.06)


def inside(outline: list[tuple[float, float]], x: float, y: float) -> bool:
    """Whether a point lies in an outline (even-odd rule)."""
    crossed = False
    for (x1, y1), (x2, y2) in zip(outline, outline[1:] + outline[:1], strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            crossed = not crossed
    return crossed


@pytest.mark.parametrize(
    ("found", "allowed"),
    [
        (SphereCylinder(-3.25, -1.0, 173.8), True),
        (SphereCylinder(-3.25, -1.0, 174.2), False),
        (SphereCylinder(-3.25, -1.0, 166.2), True),
        (SphereCylinder(-3.25, -1.11, 170.0), True),
        (SphereCylinder(-3.25, -1.13, 170.0), False),
        (SphereCylinder(-3.25, -0.87, 170.0), False),
        (SphereCylinder(-4.25, 1.0, 82.0), True),
    ],
)
def test_the_outline_holds_just_the_powers_that_the_limits_of_cylinder_and_axis_allow(
    found: SphereCylinder, allowed: bool
) -> None:
    for ordered in (ORDERED, ORDERED.transposed()):
        tried = error(found, ordered)
        assert inside(tried.allowed(), tried.error.j0, tried.error.j45) is allowed


def test_without_an_axis_the_outline_is_the_cylinder_in_any_direction() -> None:
    outline = error(SphereCylinder(-2.0), SphereCylinder(-2.0), axis=None).allowed()
    assert {round(math.hypot(*point), 6) for point in outline} == {0.06}


def test_the_target_says_in_words_what_it_shows() -> None:
    svg = power_error_drawing(error(SphereCylinder(-3.0, -1.0, 170.0)), "R")
    assert "Found less ordered: mean power +0.25 D, J0 +0.00 D, J45 +0.00 D." in svg.replace("-0.00", "+0.00")
    assert "axis ±4°" in svg


def test_the_centres_are_drawn_where_they_were_found_on_their_own_side() -> None:
    made = order(eye(-2.0, add=2.0), eye(-2.0, add=2.0), "progressive").model_copy(
        update={"frame": order(eye(0), eye(0)).frame.model_copy(update={"a_mm": 50.0, "b_mm": 38.0, "dbl_mm": 18.0})}
    )
    found: dict[Eye, CentreFound] = {
        "right": CentreFound(in_mm=2.0, up_mm=-1.0, allowed_in_mm=1.0, allowed_up_mm=1.0),
        "left": CentreFound(),
    }
    svg = centres_drawing(made, None, found)
    assert "Right: 2.0 mm in, 1.0 mm down." in svg
    assert svg.count("drawing-found") == 1
    assert svg.count("drawing-allowed") == 1
    assert centres_drawing(order(eye(0), eye(0)), None, found) == ""
