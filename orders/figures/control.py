"""An exponentially weighted moving average of standardised readings, with its control limits, and how long it runs
before it speaks.

Roberts, Technometrics 1, 1959; run lengths by the integral equation of Crowder, Technometrics 29, 1987. Weight 0.25 and
limits of three sigma: in control it speaks once in some 500 pairs, at a shift of one sigma after 11. This module must
never know what is measured.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from dispensing.trade import figure

NODES = 80
"""Of the quadrature; from 40 on, the run lengths of ordinary schemes no longer change in the fourth place."""


@dataclass(frozen=True, slots=True)
class Scheme:
    """``weight`` of the newest reading, 0 to 1 (1: Shewhart's chart); ``width``: the limits in sigma of the average."""

    weight: float = figure("lab-hand", "weight_share")
    width: float = figure("lab-hand", "width_units")

    @property
    def limit(self) -> float:
        """The limit of the average in sigma of a single reading, once it has settled: width √(λ/(2 − λ))."""
        return self.width * math.sqrt(self.weight / (2.0 - self.weight))


@dataclass(frozen=True, slots=True)
class Point:
    """The average after one reading, in sigma; ``speaks``: whether it has left the limits."""

    value: float
    average: float
    speaks: bool


def chart(values: Iterable[float], scheme: Scheme) -> list[Point]:
    """The average after each standardised reading, oldest first; it begins at nought."""
    average, points = 0.0, []
    for value in values:
        average += scheme.weight * (value - average)
        points.append(Point(value, average, abs(average) > scheme.limit))
    return points


def first_word(points: Iterable[Point]) -> int | None:
    """After how many readings the chart speaks for the first time; None if it does not."""
    return next((number for number, point in enumerate(points, 1) if point.speaks), None)


def average_run_length(shift: float, scheme: Scheme) -> float:
    """After how many readings, on average, the chart speaks when the true mean lies ``shift`` sigma from the target.

    L(u) = 1 + 1/λ ∫ L(x) φ((x − (1 − λ) u)/λ − shift) dx between the limits, by Gauss-Legendre quadrature; for weight 1
    every reading stands alone, and L is one by the chance that it lies outside.
    """
    if scheme.weight == 1.0:
        inside = _normal(scheme.width - shift) - _normal(-scheme.width - shift)
        return 1.0 / (1.0 - inside)
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    at, mass = scheme.limit * nodes, scheme.limit * weights
    from_each = (at[None, :] - (1.0 - scheme.weight) * at[:, None]) / scheme.weight - shift
    moves = np.exp(-(from_each**2) / 2.0) / math.sqrt(2.0 * math.pi) / scheme.weight * mass[None, :]
    lengths = np.linalg.solve(np.eye(NODES) - moves, np.ones(NODES))
    from_nought = np.exp(-((at / scheme.weight - shift) ** 2) / 2.0) / math.sqrt(2.0 * math.pi) / scheme.weight * mass
    return 1.0 + float(from_nought @ lengths)


def _normal(value: float) -> float:
    return 0.5 * (1.0 + math.erf(value / math.sqrt(2.0)))
