"""Image sizes of many pairs at once are those of each pair by itself, bit for bit, and unknown where that refuses."""

from __future__ import annotations

import math
from random import Random

import numpy as np
import pytest

from dispensing.optics.errors import OpticsError
from dispensing.optics.image_size_batches import (
    MagnifyingLenses,
    image_size_differences_percent,
    true_powers_from_marked,
)
from dispensing.optics.magnification import RANGES, MagnifyingLens, image_size_difference_percent
from dispensing.optics.surface import true_from_marked

NAMES = ("power_d", "front_power_d", "centre_thickness_mm", "index", "eye_distance_mm")
USUAL = {
    "power_d": (-20.0, 14.0),
    "front_power_d": (-2.0, 14.0),
    "centre_thickness_mm": (0.8, 12.0),
    "index": (1.49, 1.9),
    "eye_distance_mm": (8.0, 20.0),
}


def drawn(random: Random) -> MagnifyingLens:
    return MagnifyingLens(**{name: random.uniform(*USUAL[name]) for name in NAMES})


def together(lenses: list[MagnifyingLens]) -> MagnifyingLenses:
    return MagnifyingLenses(**{name: np.array([getattr(one, name) for one in lenses]) for name in NAMES})


def alone(right: MagnifyingLens, left: MagnifyingLens) -> float:
    try:
        return image_size_difference_percent(right, left)
    except OpticsError:
        return math.nan


def same_bits(found: list[float], wanted: list[float]) -> bool:
    return np.array_equal(np.array(found).view(np.int64), np.array(wanted).view(np.int64))


def test_many_pairs_are_each_as_by_itself_to_the_last_bit() -> None:
    random = Random(11)
    pairs = [(drawn(random), drawn(random)) for _ in range(2000)]
    right, left = (together([pair[eye] for pair in pairs]) for eye in (0, 1))
    found = image_size_differences_percent(right, left).tolist()
    assert same_bits(found, [alone(*pair) for pair in pairs])


@pytest.mark.parametrize("name", RANGES)
@pytest.mark.parametrize("side", [0, 1])
def test_a_figure_just_out_of_range_leaves_that_pair_unknown_and_no_other(name: str, side: int) -> None:
    usual, bound = drawn(Random(3)), RANGES[name][side]
    figures = {each: getattr(usual, each) for each in NAMES}
    values = [bound, bound + (1e-6 if side else -1e-6), math.nan, figures[name]]
    lenses = [MagnifyingLens(**figures | {name: value}) for value in values]
    others = [usual] * len(lenses)
    found = image_size_differences_percent(together(lenses), together(others)).tolist()
    wanted = [alone(lens, usual) for lens in lenses]
    assert [math.isnan(value) for value in found] == [math.isnan(value) for value in wanted]
    assert same_bits([v for v in found if v == v], [v for v in wanted if v == v])
    assert not math.isnan(found[-1])


def test_a_factor_that_would_run_away_is_unknown() -> None:
    """A lens of 60 D, 16.5 mm before the eye, and one of 40 D, 39 mm thick."""
    usual = drawn(Random(5))
    lenses = [MagnifyingLens(60.0, 6.0, 2.0, 1.5, 16.6), MagnifyingLens(4.0, 40.0, 39.0, 1.5, 12.0)]
    assert all(math.isnan(alone(lens, usual)) for lens in lenses)
    assert np.isnan(image_size_differences_percent(together(lenses), together([usual] * 2))).all()


def test_true_powers_of_many_curves_are_each_as_by_itself_and_unknown_out_of_range() -> None:
    random = Random(17)
    pairs = [(random.uniform(-5.0, 15.0), random.uniform(1.4, 1.9)) for _ in range(500)]
    curves, indices = np.array(pairs).T
    assert same_bits(true_powers_from_marked(curves, indices).tolist(), [true_from_marked(*pair) for pair in pairs])
    odd = true_powers_from_marked(np.array([60.0, 60.1, -60.1, 4.0, 4.0, 4.0]), np.array([1.5] * 3 + [1.29, 2.51, 1.3]))
    assert np.isnan(odd).tolist() == [False, True, True, True, True, False]
