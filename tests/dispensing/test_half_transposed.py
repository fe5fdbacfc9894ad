"""A prescription with only some figures turned into the other cylinder form, against one that really changed."""

from __future__ import annotations

import pytest

from dispensing.optics.power import SphereCylinder
from dispensing.prescribing.slips import half_transposed

THEN = SphereCylinder(1.00, -2.00, 90)
"""In the other form −1.00/+2.00×180."""


@pytest.mark.parametrize(
    ("sphere", "cylinder", "axis"),
    [
        (-1.00, -2.00, 180),
        (-1.00, -2.00, 90),
        (-1.00, 2.00, 90),
        (1.00, 2.00, 180),
        (1.00, 2.00, 90),
        (1.00, -2.00, 180),
        (-1.12, -2.00, 176),
    ],
)
def test_some_figures_of_the_other_form_are_half_a_transposition(sphere: float, cylinder: float, axis: float) -> None:
    assert half_transposed(SphereCylinder(sphere, cylinder, axis), THEN)


@pytest.mark.parametrize(
    ("sphere", "cylinder", "axis"),
    [
        (1.00, -2.00, 90),
        (-1.00, 2.00, 180),
        (0.75, -2.00, 90),
        (-1.25, -2.00, 180),
        (-1.00, -1.75, 180),
        (-1.00, -2.00, 170),
    ],
)
def test_neither_the_same_nor_the_whole_other_form_nor_a_real_change_is(
    sphere: float, cylinder: float, axis: float
) -> None:
    assert not half_transposed(SphereCylinder(sphere, cylinder, axis), THEN)


def test_without_a_cylinder_there_is_nothing_to_transpose() -> None:
    assert not half_transposed(SphereCylinder(1.00, 0.0, 180), SphereCylinder(1.00, 0.0, 90))
