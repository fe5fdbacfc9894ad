"""How much light a lens lets through: fractions and percentages are one unit, and treatments multiply."""

from __future__ import annotations

from typing import Any

import pytest

from dispensing.trade.light import (
    as_share,
    colours_named,
    impossible_depth,
    shares_stated,
    shifts_signals,
    transmittance_percent,
)


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


@pytest.mark.parametrize(
    ("treatments", "colour", "percent"),
    [
        ([("tint", None)], "brown 92 %", 8.0),
        ([("tint", 0.85)], "grey 85 %", 85.0),
        ([("antireflection", 0.98)], "grey 85 %", 14.7),
        ([("mirror", 50.0), ("tint", None)], "brown 60 %", 20.0),
        ([("polarised", 0.15), ("mirror", 0.5)], "brown 60 %", 7.5),
        ([("tint", None)], "brown", None),
    ],
)
def test_words_count_unless_a_tint_of_the_list_says_how_dark_it_is(
    treatments: Any, colour: str, percent: float | None
) -> None:
    assert transmittance_percent(shares_stated(treatments, colour)) == (percent and pytest.approx(percent))


@pytest.mark.parametrize(
    ("words", "depth"), [("grey 150 %", 150.0), ("grey 100 %", None), ("grey 85 %, or 101,5 %", 101.5), (None, None)]
)
def test_no_tint_takes_away_more_than_all_the_light(words: str | None, depth: float | None) -> None:
    assert impossible_depth(words) == depth


@pytest.mark.parametrize(
    ("words", "colours", "shifts"),
    [
        ("Blue 80 %", {"blue"}, True),
        ("gray 15 %", {"grey"}, False),
        ("brown with a blue mirror", {"brown", "blue"}, False),
        ("ROSE 20 %", {"rose"}, True),
        ("yellow", {"yellow"}, False),
        ("colourless", set(), False),
    ],
)
def test_colours_that_change_signal_lights(words: str, colours: set[str], shifts: bool) -> None:
    assert colours_named(words) == colours
    assert shifts_signals(colours_named(words)) is shifts
