"""What a lab's catalogue can state of a lens: the bounds of each figure, read from ``data/catalogue_figures.toml``.

Outside `possible` a figure is a slip; outside `usual` somebody looks at it. Must never know a catalogue.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import inf
from typing import Any

from dispensing.trade.facts import MINUS, Origin, data_file

Bounds = tuple[float, float]


@dataclass(frozen=True)
class CatalogueFigure:
    """of: the part of a catalogue that has it (``designs.blanks``). key: its name there. Both bounds are allowed."""

    of: str
    key: str
    words: str
    unit: str
    usual: Bounds
    possible: Bounds

    def written(self, value: float) -> str:
        """A value with its unit: ``−6 D``, ``180 mm``, ``1.498``."""
        return f"{value:.6g} {self.unit}".rstrip().replace("-", MINUS)

    def is_possible(self, value: float) -> bool:
        return self.possible[0] <= value <= self.possible[1]

    def is_usual(self, value: float) -> bool:
        return self.usual[0] <= value <= self.usual[1]

    def within(self, bounds: Bounds) -> str:
        """The bounds in words: ``1.49 to 1.9``; ``0.01 or more`` where there is no upper one."""
        low, high = bounds
        return f"{self.written(low)} or more" if high == inf else f"{self._bare(low)} to {self.written(high)}"

    def _bare(self, value: float) -> str:
        return f"{value:.6g}".replace("-", MINUS)


@cache
def catalogue_figures() -> tuple[CatalogueFigure, ...]:
    """Every figure with bounds, in the order of the file."""
    return tuple(_figure(row) for row in data_file("catalogue_figures")["figure"])


@cache
def figure_of(of: str, key: str) -> CatalogueFigure:
    """The figure of this name in this part of a catalogue. KeyError for an unknown one."""
    return {(figure.of, figure.key): figure for figure in catalogue_figures()}[of, key]


def origin() -> Origin:
    """Where the bounds come from, and when they were last reviewed."""
    return Origin.of(data_file("catalogue_figures"))


def _figure(row: dict[str, Any]) -> CatalogueFigure:
    return CatalogueFigure(
        row["of"], row["key"], row["words"], row["unit"], _bounds(row["usual"]), _bounds(row["possible"])
    )


def _bounds(stated: list[float]) -> Bounds:
    low, high = (*stated, inf)[:2]
    return low, high
