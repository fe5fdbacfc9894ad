"""The list of rules: each one function with an id, a number, a family, its levels and its reasons.

The order check runs the list, the page "What we check" prints it, and a test goes through it. This module must never
know what a rule looks at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache

from dispensing.trade.facts import Origin, subjects
from orders.documents.order_report import Level
from orders.rules.case import Case
from orders.rules.finding import Finding

Judge = Callable[[Case], Iterable[Finding]]
SEVERITY: tuple[Level, ...] = ("stop", "ask", "note")


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule.

    id: kebab-case trade words, never reused. number: its number in the list of order rules. family: the group it
    belongs to. levels: the levels its findings can have, worst first. title: the rule in a few words. why:
    what goes wrong without it. Its source is given with its figures, in the trade's table of facts.
    """

    id: str
    number: int
    family: str
    levels: tuple[Level, ...]
    title: str
    why: str
    judge: Judge

    @property
    def level(self) -> Level:
        """The worst level, which is also the level of a finding that names none."""
        return self.levels[0]

    @property
    def origin(self) -> Origin:
        """Source, grade and date of the rule and its figures. Raises KeyError for a rule without its own table."""
        return subjects()[self.id].origin


_RULES: dict[str, Rule] = {}


@dataclass(frozen=True, slots=True)
class Family:
    """A group of rules; each family's file begins with ``rule = Family("cut-out").rule``."""

    name: str

    def rule(
        self, *, id: str, number: int, level: Level | tuple[Level, ...], title: str, why: str
    ) -> Callable[[Judge], Judge]:
        """Register the decorated function as a rule of this family."""
        levels = (level,) if isinstance(level, str) else level
        if id in _RULES:
            raise ValueError(f"Two rules are called {id}.")
        if list(levels) != sorted(levels, key=SEVERITY.index):
            raise ValueError(f"The levels of {id} must go from the worst down.")

        def register(judge: Judge) -> Judge:
            _RULES[id] = Rule(id, number, self.name, levels, title, why, judge)
            return judge

        return register


@cache
def all_rules() -> tuple[Rule, ...]:
    """Every rule, in order of number. The package imports the families first, so none can be missing."""
    return tuple(sorted(_RULES.values(), key=lambda rule: rule.number))


def rule_by_id(id: str) -> Rule | None:
    """The rule with that id, or None."""
    return _RULES.get(id)


def title_of(id: str) -> str:
    """What people call the rule; the id itself if there is no such rule any more."""
    rule = rule_by_id(id)
    return rule.title if rule else id
