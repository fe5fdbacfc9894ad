"""A lab's hand: how far its lenses lie from what was ordered, by design and quantity, and whether that drifts.

A pair counts once in each quantity, with the mean of both its lenses, for two lenses cut in one setting are not two
witnesses. An axis counts by the cross cylinder that its turn leaves, so that half a dioptre turned by ten degrees does
not weigh as much as three. Pure; it never knows where readings are kept.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from statistics import fmean

from dispensing.trade import figure
from orders.figures.bands import Mean
from orders.figures.control import Point, Scheme, chart

QUANTITIES: dict[str, tuple[str, str]] = {
    "meridian_high": ("Power, stronger meridian", "D"),
    "meridian_low": ("Power, weaker meridian", "D"),
    "cylinder": ("Cylinder", "D"),
    "axis": ("Axis, as the cross cylinder its turn leaves", "D"),
    "add": ("Add", "D"),
    "prism_horizontal": ("Prism across", "Δ"),
    "prism_vertical": ("Prism up and down", "Δ"),
    "height": ("Height", "mm"),
    "pd": ("PD", "mm"),
    "centre_thickness": ("Centre thickness", "mm"),
    "base_curve": ("Base curve", "D"),
}
"""What is read, in words, with its unit."""

LEAST_SPREAD = {"D": "least_spread_d", "Δ": "least_spread_pd", "mm": "least_spread_mm"}
MOVING_RANGE = 2.0 / math.sqrt(math.pi)
"""The mean range of two readings in standard deviations of one: 1.128."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One lens in one quantity. ``error``: found less ordered, in the quantity's unit; ``number``: of the order."""

    number: str
    on: date
    lab: str
    design: str
    quantity: str
    error: float


@dataclass(frozen=True, slots=True)
class Pair:
    """What one pair adds to a chart."""

    number: str
    on: date
    error: float


@dataclass(frozen=True)
class Hand:
    """One lab, design and quantity. ``design`` empty: all of them."""

    lab: str
    design: str
    quantity: str
    pairs: tuple[Pair, ...]
    scheme: Scheme

    @property
    def words(self) -> str:
        return QUANTITIES[self.quantity][0]

    @property
    def unit(self) -> str:
        return QUANTITIES[self.quantity][1]

    @cached_property
    def mean(self) -> Mean:
        found = Mean.of([pair.error for pair in self.pairs])
        assert found is not None
        return found

    @cached_property
    def sigma(self) -> float | None:
        """From pair to pair, by the mean moving range, which a bias or a drift hardly widens; never below what the
        instrument itself scatters. None while there are too few.
        """
        if len(self.pairs) < figure("lab-hand", "least_pairs_number"):
            return None
        steps = [abs(now.error - before.error) for before, now in zip(self.pairs, self.pairs[1:], strict=False)]
        return max(fmean(steps) / MOVING_RANGE, figure("lab-hand", LEAST_SPREAD[self.unit]))

    @cached_property
    def points(self) -> list[Point]:
        """The chart, in sigma; empty while there are too few pairs."""
        sigma = self.sigma
        return [] if sigma is None else chart((pair.error / sigma for pair in self.pairs), self.scheme)

    @property
    def speaks(self) -> bool:
        """Whether the average lies outside its limits now."""
        points = self.points
        return bool(points) and points[-1].speaks

    @property
    def said(self) -> str:
        """In words: what the chart says."""
        points = self.points
        if not points:
            return f"Too few pairs: it takes {figure('lab-hand', 'least_pairs_number'):g}."
        if points[-1].speaks:
            side = "above" if points[-1].average > 0 else "below"
            since = len(points)
            while since > 1 and points[since - 2].speaks:
                since -= 1
            return f"Outside its limits, {side} what is ordered, since {self.pairs[since - 1].number}. Tell the lab."
        if any(point.speaks for point in points):
            return "Inside its limits; it was outside before."
        return "Inside its limits."


def axis_as_cylinder(cylinder_d: float, turned_deg: float) -> float:
    """The cross cylinder, D, that a turn leaves, with the turn's sign: |C| sin 2θ / 2 (its J45 in the axis's frame)."""
    return abs(cylinder_d) * math.sin(math.radians(2.0 * turned_deg)) / 2.0


def every_hand(readings: Iterable[Reading]) -> list[Hand]:
    """Each lab's in all its designs together, which speaks soonest, and in each design where it makes several."""
    rows = list(readings)
    by_design = hands(rows)
    several = {hand.lab for hand in by_design if len({one.design for one in by_design if one.lab == hand.lab}) > 1}
    return [*hands(rows, by_design=False), *(hand for hand in by_design if hand.lab in several)]


def hands(readings: Iterable[Reading], *, by_design: bool = True) -> list[Hand]:
    """One for each lab, design and quantity read, labs and designs in order of name, quantities in the trade's."""
    grouped: dict[tuple[str, str, str], list[Reading]] = defaultdict(list)
    for row in readings:
        if row.quantity in QUANTITIES:
            grouped[row.lab, row.design if by_design else "", row.quantity].append(row)
    order = list(QUANTITIES)
    keys = sorted(grouped, key=lambda key: (key[0], key[1], order.index(key[2])))
    return [Hand(*key, tuple(_pairs(grouped[key])), Scheme()) for key in keys]


def _pairs(rows: list[Reading]) -> Iterator[Pair]:
    """Both lenses of an order read on one day as one; by day and number."""
    together: dict[tuple[date, str], list[float]] = defaultdict(list)
    for row in rows:
        together[row.on, row.number].append(row.error)
    for (on, number), errors in sorted(together.items()):
        yield Pair(number, on, fmean(errors))
