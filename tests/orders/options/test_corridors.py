"""The corridor that the fitted height suggests: the longest for which the lower of the two is enough."""

from __future__ import annotations

import pytest

from orders.documents.lens_catalogue import Corridor, Design
from orders.documents.lens_order import FittedEye, FittingPart
from orders.options.corridors import suggested_corridor

LONG, SHORT = Corridor(length_mm=16, min_height_mm=20), Corridor(length_mm=11, min_height_mm=15)


def design(*corridors: Corridor) -> Design:
    return Design(id="prog", name="Progressive", kind="progressive", corridors=corridors)


def fitted(right: float | None, left: float | None) -> FittingPart:
    return FittingPart(right=FittedEye(height_mm=right), left=FittedEye(height_mm=left))


@pytest.mark.parametrize(
    ("right", "left", "suggested"),
    [(20, 20, 16), (22, 19.9, 11), (19.9, 22, 11), (15, 30, 11), (14.9, 20, None), (None, 20, 16), (None, None, None)],
)
def test_the_lower_height_decides(right: float | None, left: float | None, suggested: float | None) -> None:
    assert suggested_corridor(design(SHORT, LONG), fitted(right, left)) == suggested


def test_a_corridor_whose_height_nobody_states_is_not_suggested() -> None:
    assert suggested_corridor(design(Corridor(length_mm=18), SHORT), fitted(22, 22)) == 11
    assert suggested_corridor(design(), fitted(22, 22)) is None
