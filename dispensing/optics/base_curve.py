"""Which base curve a lens gets: the one ordered, else the one in the lab's table, else the one by Vogel's rule.

Curves in D; the table's curves and the ordered one are 1.530 tooling curves, + for a front. Vogel's rule is a rule of
thumb about the same marked curves; another handbook has mean sphere + 4 for plus lenses, 2 D flatter (A. K. Bhootra,
Ophthalmic Lenses), so any result that rests on the rule says so. This module must never know a catalogue file or an
order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from dispensing.optics.errors import require_finite, require_range
from dispensing.optics.power import POWER_LIMIT_D
from dispensing.optics.surface import STEEPEST_D

ChosenBy = Literal["order", "catalogue", "vogel"]


@dataclass(frozen=True, slots=True)
class BaseCurve:
    """A front curve in D (1.530 tooling curve), and how it was chosen."""

    curve_d: float
    by: ChosenBy


@dataclass(frozen=True)
class BaseCurveRow:
    """One row of a lab's table: mean spheres from `from_d` to `to_d` (D, both included) get `curve_d` (D,
    1.530).
    """

    from_d: float
    to_d: float
    curve_d: float

    def __post_init__(self) -> None:
        for value in (self.from_d, self.to_d, self.curve_d):
            require_finite("base curve table", value, "D")


def from_table(rows: Sequence[BaseCurveRow], mean_sphere: float) -> float | None:
    """The table's curve in D for a mean sphere in D; None when no row covers it.

    On a boundary that two rows share, the first of them applies.
    """
    wanted = require_range("mean sphere", mean_sphere, "D", -POWER_LIMIT_D, POWER_LIMIT_D)
    for row in rows:
        if min(row.from_d, row.to_d) <= wanted <= max(row.from_d, row.to_d):
            return row.curve_d
    return None


def vogel(mean_sphere: float) -> float:
    """Vogel's rule for the front curve in D: plus lenses mean sphere + 6, minus lenses half of it + 6.

    This is the rule as published: at −12 D it gives a plano front, and beyond that a hollow one.
    """
    wanted = require_range("mean sphere", mean_sphere, "D", -POWER_LIMIT_D, POWER_LIMIT_D)
    return wanted + 6.0 if wanted >= 0.0 else wanted / 2.0 + 6.0


def base_curve(mean_sphere: float, rows: Sequence[BaseCurveRow] = (), ordered_d: float | None = None) -> BaseCurve:
    """The front curve to use: the one ordered, else the one in the table, else the one by Vogel's rule.

    Raises OpticsError for an ordered curve that no front has (beyond ±60 D).
    """
    require_finite("mean sphere", mean_sphere, "D")
    if ordered_d is not None:
        return BaseCurve(require_range("ordered base curve", ordered_d, "D", -STEEPEST_D, STEEPEST_D), "order")
    listed = from_table(rows, mean_sphere)
    return BaseCurve(vogel(mean_sphere), "vogel") if listed is None else BaseCurve(listed, "catalogue")
