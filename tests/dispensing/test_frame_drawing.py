"""The drawing of a frame from the front is to scale, mirrored, and puts the eyes where they were measured."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import numpy.typing as npt
import pytest

from dispensing.optics.shape_families import assumed_shape
from dispensing.pictures.frame_front import Placed, frame_drawing
from tests.known import there

PILOT = assumed_shape(58, 48, None, "pilot")


def drawn(**changes: Any) -> ET.Element:
    return ET.fromstring(frame_drawing(PILOT, 16.0, **changes))


def of_class(root: ET.Element, name: str) -> list[Any]:
    return [part for part in root.iter() if part.get("class") == f"drawing-{name}"]


def corners(polygon: ET.Element) -> npt.NDArray[Any]:
    return np.array([[float(n) for n in pair.split(",")] for pair in there(polygon.get("points")).split()])


def test_both_lenses_have_their_boxed_sizes_and_stand_dbl_apart() -> None:
    right, left = (corners(part) for part in of_class(drawn(), "shape"))
    assert np.ptp(right[:, 0]) == pytest.approx(58, abs=0.002)
    assert np.ptp(right[:, 1]) == pytest.approx(48, abs=0.002)
    assert left[:, 0].min() - right[:, 0].max() == pytest.approx(16, abs=0.002)


def test_the_left_lens_is_the_mirror_image_of_the_right() -> None:
    right, left = (corners(part) for part in of_class(drawn(), "shape"))
    mirrored = right * [-1, 1]
    nearest = np.abs(left[:, None, :] - mirrored[None, :, :]).sum(axis=2).min(axis=1)
    assert nearest.max() < 0.01


def test_the_cut_away_corner_of_a_pilot_lies_below_towards_the_nose() -> None:
    right = corners(of_class(drawn(), "shape")[0])
    x, down = right[:, 0] + (58 + 16) / 2, right[:, 1]
    nasal, temporal = np.hypot(x, down)[(x > 10) & (down > 10)], np.hypot(x, down)[(x < -10) & (down > 10)]
    assert nasal.max() < temporal.max() - 1


def test_the_pupils_sit_at_their_pd_and_height() -> None:
    placed = {"right": Placed(31.0, 27.0), "left": Placed(33.0, 26.0)}
    right, left = of_class(drawn(placed=placed), "pupil")
    assert (float(right.get("cx")), float(left.get("cx"))) == (-31.0, 33.0)
    # SVG runs downwards from the boxed centre: 27 above the lowest point of a lens 48 high is 3 above the centre.
    assert (float(right.get("cy")), float(left.get("cy"))) == pytest.approx((-3.0, -2.0))


def test_the_ed_is_a_circle_round_the_boxed_centre() -> None:
    [circle] = of_class(drawn(), "ed-circle")
    assert float(circle.get("r")) * 2 == pytest.approx(PILOT.ed_mm, abs=0.002)


def test_a_slip_of_the_keyboard_does_not_shrink_the_picture() -> None:
    usual = there(drawn(placed={"right": Placed(31.0, 27.0)}).get("viewBox"))
    assert of_class(drawn(placed={"right": Placed(310.0, 27.0)}), "pupil") == []
    assert float(there(drawn(placed={"right": Placed(310.0, 270.0)}).get("viewBox")).split()[2]) <= float(
        usual.split()[2]
    )


def test_what_the_picture_shows_is_also_said_in_words_and_headings_follow_the_practice() -> None:
    root = drawn(placed={"right": Placed(31.0, 27.0)}, headings=("OD", "OS"), assumed=True)
    said = root.findtext("{http://www.w3.org/2000/svg}desc")
    assert "A 58.0 mm, B 48.0 mm, DBL 16.0 mm" in there(said)
    assert "shape assumed" in there(said)
    assert "Right eye: PD 31.0 mm, height 27.0 mm." in there(said)
    assert {"OD", "OS"} <= {part.text for part in root.iter()}
