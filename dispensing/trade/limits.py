"""The limits in force: those of the trade, tightened where the practice has set its own. Nobody can loosen one.

A limit given by a catalogue is not here: it comes with the design or the material. Must never know where the practice's
figures are kept.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from dispensing.trade.facts import fact_named, figure


@dataclass(frozen=True)
class PracticeLimits:
    """What a practice has decided for itself.

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
        """The practice's figure if it has one, otherwise the trade's. KeyError for an unknown name."""
        trade, own = figure(rule, name), self.practice.values
        return own.get(rule, {}).get(name, trade) if own else trade

    @classmethod
    def stated(cls, values: object) -> Limits:
        """Limits from a practice's figures stated in a document; any not stricter than the trade's are ignored."""
        rows = values.items() if isinstance(values, Mapping) else ()
        pairs = (
            (str(rule), str(name), value)
            for rule, figures in rows
            if isinstance(figures, Mapping)
            for name, value in figures.items()
        )
        return cls(PracticeLimits(stricter_only(pairs)))


TRADE = Limits()
"""The trade's own limits, for use where no practice is involved."""


def stricter_only(decided: Iterable[tuple[str, str, object]]) -> dict[str, dict[str, float]]:
    """Picks out of (rule, name, figure) the figures that are stricter than the trade's, by rule and name."""
    values: dict[str, dict[str, float]] = defaultdict(dict)
    for rule, name, value in decided:
        fact = fact_named(rule, name)
        if not isinstance(value, (int, float)) or isinstance(value, bool) or not math.isfinite(value):
            continue
        if fact is not None and fact.allows(value):
            values[rule][name] = float(value)
    return dict(values)
