"""What the "What we check" pages show: the rules with the limits in force, and for each rule an order that trips it.

It is made from the rules and their examples, so that the page and the check cannot disagree. It reads and never
writes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from dispensing.models import PracticeRule
from dispensing.models.practice_rules import PracticeRuleKind
from dispensing.trade.facts import Fact, facts_of
from orders.dated_tables import DatedTable, table_of
from orders.documents.key_words import key_in_words, value_in_words
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder
from orders.documents.order_report import FindingPart
from orders.drawings import order_drawing
from orders.rules import PracticeLimits, check
from orders.rules.examples import Example, examples_of
from orders.rules.registry import Rule, all_rules


@dataclass(frozen=True)
class LimitShown:
    """One figure as it applies here: the practice's own if it chose a stricter one."""

    limit: Fact
    own: PracticeRule | None

    @property
    def in_force(self) -> str:
        return self.limit.written(self.own.value if self.own else None)


@dataclass(frozen=True)
class RuleShown:
    """One rule. ``silenced``: the decision to leave out its questions, if there is one."""

    rule: Rule
    limits: tuple[LimitShown, ...]
    silenced: PracticeRule | None

    @property
    def table(self) -> DatedTable | None:
        """The dated table that the rule uses, if it uses one."""
        return table_of(self.rule.id)


Decisions = Mapping[tuple[str, str], PracticeRule]


def decisions() -> dict[tuple[str, str], PracticeRule]:
    """What the practice decided, by rule and figure; a question left out has an empty figure."""
    return {(row.rule, row.limit): row for row in PracticeRule.objects.select_related("decided_by")}


def rule_shown(rule: Rule, decided: Decisions) -> RuleShown:
    silenced = decided.get((rule.id, ""))
    limits = tuple(LimitShown(limit, _own(limit, decided)) for limit in facts_of(rule.id))
    return RuleShown(rule, limits, silenced if silenced and silenced.kind == PracticeRuleKind.SILENCE else None)


def _own(limit: Fact, decided: Decisions) -> PracticeRule | None:
    row = decided.get((limit.subject, limit.name))
    return row if row is not None and row.value is not None and limit.allows(row.value) else None


def families_shown(decided: Decisions) -> list[tuple[str, list[RuleShown]]]:
    """Each family and its rules, both in order of number."""
    families: dict[str, list[RuleShown]] = {}
    for rule in all_rules():
        families.setdefault(rule.family, []).append(rule_shown(rule, decided))
    return list(families.items())


@dataclass(frozen=True)
class ExampleShown:
    """A drawing of an order that trips a rule, and what the check says about it."""

    says: str
    order: LensOrder
    catalogue: LensCatalogue
    findings: tuple[FindingPart, ...]
    drawing: str
    changed: tuple[tuple[str, str], ...]


@lru_cache(maxsize=512)
def examples_shown(rule: str, headings: tuple[str, str]) -> tuple[ExampleShown, ...]:
    """One order for each level the rule has, worst first, judged by the trade's own limits; always the same ones."""
    tripping = [example for example in examples_of(rule) if example.level is not None]
    firsts = [next(group) for _, group in groupby(sorted(tripping, key=_level), key=_level)]
    return tuple(_shown(example, headings) for example in firsts)


def _level(example: Example) -> int:
    return ("stop", "ask", "note").index(example.level or "note")


def _shown(example: Example, headings: tuple[str, str]) -> ExampleShown:
    order, catalogue = example.order(), example.lens_catalogue()
    report = check(order, catalogue, example.other_orders(), PracticeLimits())
    findings = tuple(part for part in report.findings if part.rule == example.rule)
    has_frame = order.frame.a_mm is not None and order.frame.b_mm is not None
    drawing = order_drawing(order, catalogue, headings=headings) if has_frame else ""
    return ExampleShown(example.says, order, catalogue, findings, drawing, _changed(example))


def _changed(example: Example) -> tuple[tuple[str, str], ...]:
    """Each key that differs from the clean order, with its value, both in words."""
    catalogue = example.lens_catalogue()
    changed = [(key_in_words(path), value_in_words(path, value, catalogue)) for path, value in _leaves(example.set)]
    return (*changed, *((key_in_words(path), "not given") for path in example.null))


def _leaves(value: object, path: str = "") -> Iterator[tuple[str, object]]:
    if isinstance(value, dict):
        for key, part in value.items():
            yield from _leaves(part, f"{path}.{key}" if path else key)
    else:
        yield path, value
