"""The drawing from above: to scale, with every figure and its ±, and nothing drawn that is not known."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree as ET

import pytest

from dispensing.pictures.eyes_from_above import Depths, EyeFromAbove, Known, eyes_from_above
from tests.known import there

SVG = "{http://www.w3.org/2000/svg}"
RIGHT = EyeFromAbove(pd_mm=Known(32.6, 0.5), near_pd_mm=Known(30.6, 0.5), a_mm=52.0)
LEFT = EyeFromAbove(pd_mm=Known(30.9, 0.5), near_pd_mm=Known(29.0, 0.5), a_mm=52.0)


def drawn(eyes: Any = None, **depths: Any) -> ET.Element:
    return ET.fromstring(eyes_from_above(eyes or {"right": RIGHT, "left": LEFT}, Depths(**depths)))


def globes(picture: ET.Element) -> list[tuple[float, float]]:
    return [(float(there(one.get("cx"))), float(there(one.get("cy")))) for one in picture.iter(f"{SVG}circle")]


def test_the_wearer_s_right_eye_is_on_the_left_and_each_eye_at_its_own_pd() -> None:
    assert [x for x, _ in globes(drawn())] == [-32.6, 30.9]


def test_an_eye_lies_behind_the_lens_by_the_measured_vertex_distance() -> None:
    near, far = (globes(drawn(vertex_mm=Known(depth, 0.5)))[0][1] for depth in (11.0, 16.0))
    # The page's y runs down, the wearer looks down the page: farther behind is higher up.
    assert near - far == pytest.approx(5.0)


def test_a_bent_front_carries_its_temporal_sides_back() -> None:
    def temporal_side(face_form_deg: float) -> float:
        lens = next(
            one for one in drawn(face_form_deg=face_form_deg).iter(f"{SVG}polygon") if "lens" in there(one.get("class"))
        )
        return float(there(there(lens.get("points")).split()[1]).split(",")[1])

    assert temporal_side(0.0) == 0.0
    assert temporal_side(10.0) == pytest.approx(-9.03, abs=0.01)


def test_what_is_not_known_is_neither_drawn_nor_told() -> None:
    picture = drawn({"right": RIGHT})
    assert len(globes(picture)) == 1
    told = there(picture.find(f"{SVG}desc")).text
    assert "Right eye: PD 32.6 ± 0.5 mm, near PD 30.6 ± 0.5 mm." in there(told)
    assert "Left" not in there(told)
    assert "Vertex" not in there(told)


@pytest.mark.parametrize("slip", [-3.0, 400.0])
def test_a_slipped_figure_does_not_blow_the_picture_up(slip: float) -> None:
    picture = drawn({"right": EyeFromAbove(pd_mm=Known(slip, 1.0)), "left": LEFT})
    assert float(there(picture.get("width")).removesuffix("mm")) < 200
