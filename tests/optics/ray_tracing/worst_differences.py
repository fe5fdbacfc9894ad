"""The worst differences that the comparisons with the ray tracer found, and their table after the run."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tests.optics.ray_tracing.reference_lenses import MADE_WITH


@dataclass(frozen=True)
class Worst:
    """The worst difference of one quantity over all lenses, and why it is not zero."""

    quantity: str
    value: float
    unit: str
    allowed: float
    why: str


def lines_of_table(seen: Iterable[Worst]) -> list[str]:
    """One line a quantity."""
    head = f"{MADE_WITH['lenses']} lenses, traced with optiland {MADE_WITH['optiland']}, seed {MADE_WITH['seed']}"
    rows = [f"{w.quantity:<44}{w.value:>11.2e} {w.unit:<4} allowed {w.allowed:.1e}  {w.why}" for w in seen]
    return [head, *rows]
