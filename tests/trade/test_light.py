"""How much light a lens lets through: fractions and percentages are one unit, and treatments multiply."""

from __future__ import annotations

from typing import Any

import pytest

from dispensing.trade.light import as_share, transmittance_percent


@pytest.mark.parametrize(
    ("stated", "share"),
    [(0.0, 0.0), (0.15, 0.15), (1.0, 1.0), (1.01, 0.0101), (15.0, 0.15), (100.0, 1.0), (-0.5, -0.5), (101.0, 101.0)],
)
def test_up_to_one_a_transmittance_is_a_share_and_above_it_per_cent(stated: float, share: float) -> None:
    assert as_share(stated) == pytest.approx(share)
    # Read twice it is the same: what was parsed once may be parsed again.
    assert as_share(as_share(stated)) == pytest.approx(as_share(as_share(as_share(stated))))


@pytest.mark.parametrize(
    ("stated", "percent"),
    [
        ([], None),
        ([None, None], None),
        ([0.15], 15.0),
        ([15.0], 15.0),
        ([0.5, 50.0], 25.0),
        ([0.5, None, 0.9], 45.0),
        ([0.0], 0.0),
        ([-1.0, 250.0], None),
        ([-1.0, 0.8], 80.0),
    ],
)
def test_what_is_left_behind_all_treatments(stated: Any, percent: float | None) -> None:
    assert transmittance_percent(stated) == (None if percent is None else pytest.approx(percent))
