"""The adds usual at an age, band by band and at the boundaries between them."""

from __future__ import annotations

import pytest

from dispensing.trade.adds import believable_add, usual_add
from dispensing.trade.limits import TRADE, Limits, PracticeLimits


@pytest.mark.parametrize(
    ("age", "usual"),
    [
        (39, (0.0, 0.0)),
        (40, (0.75, 1.0)),
        (44, (0.75, 1.0)),
        (45, (1.0, 1.5)),
        (49, (1.0, 1.5)),
        (50, (1.5, 2.0)),
        (54, (1.5, 2.0)),
        (55, (2.0, 2.5)),
        (59, (2.0, 2.5)),
        (60, (2.25, 2.75)),
        (101, (2.25, 2.75)),
    ],
)
def test_usual_adds_by_age(age: int, usual: tuple[float, ...]) -> None:
    assert usual_add(age) == usual


def test_nobody_is_asked_within_the_room_on_either_side() -> None:
    assert believable_add(60, TRADE) == (1.5, 3.5)
    assert believable_add(60, Limits(PracticeLimits({"add-for-age": {"beyond_band_d": 0.25}}))) == (2.0, 3.0)
