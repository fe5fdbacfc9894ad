"""Which limits a practice may make stricter for itself, and which way that is. Loosening is nobody's to do here.

Must never know who asks or where the practice's figures are kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from orders.rules import words
from orders.rules.limits import data_file, trade_limits

Direction = Literal["lower", "higher"]

UNITS = {
    "mm": "mm",
    "d": "D",
    "deg": "°",
    "pd": "Δ",
    "percent": "%",
    "years": "years",
    "days": "days",
    "cm3": "g/cm³",
}


@dataclass(frozen=True)
class TradeLimit:
    """One figure of a rule. stricter: the side on which a practice may set its own; None for a fixed one."""

    rule: str
    name: str
    value: float
    stricter: Direction | None

    @property
    def label(self) -> str:
        """What the figure is, in a dispenser's words: ``Least above the cross``."""
        written: str = data_file("limit_words")[self.rule][self.name]
        return written

    @property
    def unit(self) -> str:
        return UNITS.get(self.name.split("_")[-1], "")

    def written(self, value: float | None = None) -> str:
        """The trade's figure, or `value`, with its unit: ``4 mm``, ``18°``."""
        figure = f"{self.value if value is None else value:.6g}".replace("-", words.MINUS)
        return f"{figure}{self.unit}" if self.unit == "°" else f"{figure} {self.unit}".rstrip()

    def allows(self, value: float) -> bool:
        """Whether `value` is stricter than the trade's figure and still of its kind (a limit keeps its sign)."""
        if self.stricter is None or value * self.value < 0.0:
            return False
        return value < self.value if self.stricter == "lower" else value > self.value


def limits_of(rule: str) -> tuple[TradeLimit, ...]:
    """The figures of one rule, in the order of the data file."""
    sides = data_file("tighter").get(rule, {})
    return tuple(TradeLimit(rule, name, value, sides.get(name)) for name, value in trade_limits(rule).items())


def limit_named(rule: str, name: str) -> TradeLimit | None:
    """That figure of that rule, or None."""
    return next((limit for limit in limits_of(rule) if limit.name == name), None)
