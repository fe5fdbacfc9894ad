"""Image size and coloured fringes."""

from __future__ import annotations

import pytest

from dispensing.optics.chromatic import transverse_chromatic_aberration, transverse_chromatic_aberration_at
from dispensing.optics.errors import OpticsError
from dispensing.optics.magnification import (
    MagnifyingLens,
    image_size_difference_percent,
    power_factor,
    shape_factor,
)
from dispensing.optics.power import SphereCylinder

PLUS = MagnifyingLens(4.0, 8.0, 4.0, 1.498, 15.0)
MINUS = MagnifyingLens(-4.0, 4.0, 2.0, 1.498, 15.0)


def test_a_plus_lens_magnifies_and_a_minus_lens_makes_smaller() -> None:
    assert PLUS.magnification > 1.0 > MINUS.magnification


def test_a_flat_plano_leaves_the_image_as_it_is() -> None:
    assert MagnifyingLens(0.0, 0.0, 2.0, 1.5, 12.0).magnification == 1.0


def test_exchanging_the_eyes_turns_the_sign_of_the_difference_in_image_size() -> None:
    difference = image_size_difference_percent(PLUS, MINUS)
    assert difference == pytest.approx(13.5, abs=0.2)
    assert image_size_difference_percent(MINUS, PLUS) == pytest.approx(-difference)
    assert image_size_difference_percent(PLUS, PLUS) == 0.0


def test_the_magnification_agrees_with_the_system_matrix_of_the_lens() -> None:
    """Trace a distant object's ray through front, thickness, back and the gap to the eye."""
    n, t, front, gap = 1.6, 0.005, 7.0, 0.014
    bvp = 3.0
    back = bvp - front / (1.0 - t / n * front)
    # A ray that reaches the eye's pupil centre (height 0) after the lens; go backwards to its angle before it.
    angle_at_eye = 0.01
    height_back = -angle_at_eye * gap
    angle_inside = angle_at_eye + back * height_back
    height_front = height_back - angle_inside * t / n
    angle_before = angle_inside + front * height_front
    traced = angle_at_eye / angle_before
    assert MagnifyingLens(bvp, front, 5.0, n, 14.0).magnification == pytest.approx(traced, rel=1e-9)


def test_colour_is_prism_over_abbe_wherever_the_eye_looks() -> None:
    assert transverse_chromatic_aberration(-3.0, 30.0) == pytest.approx(0.1)
    lens = SphereCylinder(-6.0, -2.0, 180.0)
    assert transverse_chromatic_aberration_at(lens, 0.0, -10.0, "left", 40.0) == pytest.approx(0.2)


def test_impossible_lenses_are_refused_by_name() -> None:
    with pytest.raises(OpticsError, match="Abbe number"):
        transverse_chromatic_aberration(1.0, 0.0)
    with pytest.raises(OpticsError, match="refractive index"):
        shape_factor(6.0, 3.0, 0.0)
    with pytest.raises(OpticsError, match="focal length"):
        power_factor(40.0, 30.0)
    with pytest.raises(OpticsError, match="back vertex power"):
        power_factor(float("nan"), 12.0)


@pytest.mark.parametrize(
    ("prism", "abbe", "refused"),
    [
        (200.0, 15.0, None),
        (-200.0, 100.0, None),
        (200.1, 40.0, "prism"),
        (-200.1, 40.0, "prism"),
        (1.0, 14.9, "Abbe number"),
        (1.0, 100.1, "Abbe number"),
    ],
)
def test_a_fringe_is_worked_out_for_every_prism_and_material_there_is(
    prism: float, abbe: float, refused: str | None
) -> None:
    if refused is None:
        assert transverse_chromatic_aberration(prism, abbe) == pytest.approx(abs(prism) / abbe)
        return
    with pytest.raises(OpticsError, match=refused):
        transverse_chromatic_aberration(prism, abbe)
