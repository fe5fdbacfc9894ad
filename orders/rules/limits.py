"""The limits in force: those of the trade from dated data files, tightened where the practice set its own.

A limit that a catalogue gives is not here: it travels with the design or the material. Must never know what a
limit is compared with.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

DATA = Path(__file__).parent / "data"


@cache
def data_file(name: str) -> dict[str, Any]:
    """The table of ``orders/rules/data/NAME.toml``, read once."""
    with (DATA / f"{name}.toml").open("rb") as file:
        return tomllib.load(file)


@dataclass(frozen=True)
class PracticeLimits:
    """What a practice decided for itself.

    values: rule id → limit name → figure in the limit's own unit. silenced: rules whose asks and notes are
    left out; a stop cannot be silenced.
    """

    values: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    silenced: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Limits:
    """Figures by rule and name: ``limits.of("decentration", "in_max_mm")``."""

    practice: PracticeLimits = field(default_factory=PracticeLimits)

    def of(self, rule: str, name: str) -> float:
        """The practice's figure if it has one, else that of the trade. KeyError for an unknown name."""
        trade: float = data_file("limits")[rule][name]
        return self.practice.values.get(rule, {}).get(name, trade)


def trade_limits(rule: str) -> dict[str, float]:
    """The figures of one rule as the trade's data file has them, name → figure; without source and date."""
    table = data_file("limits").get(rule, {})
    return {name: value for name, value in table.items() if isinstance(value, (int, float))}
