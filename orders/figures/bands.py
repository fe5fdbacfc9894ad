"""Bands in which the truth lies at 95 %: of a share (Wilson) and of a mean (Student's t). Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist, fmean, stdev

import numpy as np

CONFIDENCE = 19 / 20
TWO_SIDED = NormalDist().inv_cdf((1.0 + CONFIDENCE) / 2.0)


@dataclass(frozen=True, slots=True)
class Share:
    """``found`` of ``count``, with its band; all None of nothing."""

    found: int
    count: int

    @property
    def share(self) -> float | None:
        return self.found / self.count if self.count else None

    @property
    def band(self) -> tuple[float, float] | None:
        """Wilson's interval without continuity correction (Wilson, JASA 22, 1927)."""
        if not self.count:
            return None
        n, z2 = self.count, TWO_SIDED**2
        share = self.found / n
        middle = (share + z2 / (2 * n)) / (1 + z2 / n)
        half = TWO_SIDED * math.sqrt(share * (1 - share) / n + z2 / (4 * n * n)) / (1 + z2 / n)
        return max(0.0, middle - half), min(1.0, middle + half)


@dataclass(frozen=True, slots=True)
class Mean:
    """Count, mean and standard deviation of readings; the spread is None of fewer than two."""

    count: int
    mean: float
    spread: float | None

    @classmethod
    def of(cls, values: Sequence[float]) -> Mean | None:
        """None of nothing."""
        if not values:
            return None
        return cls(len(values), fmean(values), stdev(values) if len(values) > 1 else None)

    @property
    def band(self) -> tuple[float, float] | None:
        """Mean ± t s/√n; None of fewer than two."""
        if self.spread is None:
            return None
        half = students_t(self.count - 1) * self.spread / math.sqrt(self.count)
        return self.mean - half, self.mean + half

    @property
    def is_off(self) -> bool:
        """Whether the band leaves nought out: the bias is no chance."""
        return self.band is not None and not self.band[0] <= 0.0 <= self.band[1]


@cache
def students_t(freedom: int) -> float:
    """The two-sided 95 % point of Student's t with so many degrees of freedom, by bisection of its integral."""
    low, high = TWO_SIDED, 13.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _within(middle, freedom) < CONFIDENCE else (low, middle)
    return (low + high) / 2.0


def _within(limit: float, freedom: int) -> float:
    """The chance that t lies within ± ``limit``; substituting t = √f tan a leaves cos^(f−1) a, which is smooth."""
    nodes, weights = _quadrature()
    end = math.atan(limit / math.sqrt(freedom))
    angles = end / 2.0 * (nodes + 1.0)
    scale = math.exp(math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2)) / math.sqrt(math.pi)
    return float(scale * end * np.sum(weights * np.cos(angles) ** (freedom - 1)))


@cache
def _quadrature() -> tuple[np.ndarray, np.ndarray]:
    nodes, weights = np.polynomial.legendre.leggauss(64)
    return nodes, weights
