"""Tries the check on the bad and the clean orders: what it caught, what escaped, and what it asked needlessly.

Caught: a finding of at least the level that the order deserves, that nobody has lifted, at one of the fields that the
dispenser mentions. Where the field alone does not decide, ``judged.toml`` of the set does so by hand.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from orders.documents.order_report import FindingPart
from orders.rules import check
from orders.rules.registry import SEVERITY
from tests.orders.bad_orders.orders import HELD_OUT, HERE, Written, both_eyes, catalogue


@dataclass(frozen=True)
class Tried:
    """One order and the findings on it that nobody lifted."""

    written: Written
    findings: tuple[FindingPart, ...]

    @property
    def caught(self) -> bool:
        return any(_says_it(self.written, finding) for finding in self.findings)

    @property
    def stops(self) -> tuple[FindingPart, ...]:
        return tuple(finding for finding in self.findings if finding.level == "stop")

    @property
    def asks(self) -> tuple[FindingPart, ...]:
        """An eye each, as the corpus counts them."""
        return tuple(finding for finding in self.findings if finding.level == "ask")


def tried(orders: Iterable[Written]) -> list[Tried]:
    return [Tried(one, _open_findings(one)) for one in orders]


def _open_findings(one: Written) -> tuple[FindingPart, ...]:
    report = check(one.order, catalogue(), one.beside)
    return tuple(finding for finding in report.findings if finding.confirmed_by is None)


def _says_it(one: Written, finding: FindingPart) -> bool:
    if SEVERITY.index(finding.level) > SEVERITY.index(one.level):
        return False
    if (one.id, finding.rule) in judged("does_not_count"):
        return False
    return finding.field in _fields(one) or (one.id, finding.rule) in judged("counts")


def _fields(one: Written) -> set[str]:
    return {field for path in one.speaks_of for field in both_eyes(path)}


@cache
def judged(how: str) -> frozenset[tuple[str, str]]:
    """The pairs of order and rule that were judged by hand: ``counts`` or ``does_not_count``."""
    tables = [tomllib.loads((folder / "judged.toml").read_text(encoding="utf-8")) for folder in (HERE, HELD_OUT)]
    return frozenset((row["order"], row["rule"]) for table in tables for row in table[how])


def share(results: Iterable[Tried]) -> float:
    caught = [result.caught for result in results]
    return sum(caught) / len(caught)


def asks_each(results: list[Tried]) -> float:
    return sum(len(result.asks) for result in results) / len(results)


def table(bad: list[Tried], clean: list[Tried]) -> str:
    """The table that stands in DEVELOPERS.md: made, caught and asked in vain, a theme a row."""
    made, caught = _by_theme(bad), _by_theme(result for result in bad if result.caught)
    right, asks = _by_theme(clean), _by_theme(result for result in clean for _ in result.asks)
    counts = [(theme, made[theme], caught[theme], right[theme], asks[theme]) for theme in made]
    counts.append(("all", len(bad), sum(caught.values()), len(clean), sum(asks.values())))
    lines = ["| Theme | Bad orders | Caught | Clean orders | Asks raised by them |", "|---|---|---|---|---|"]
    for theme, n, got, fine, vain in counts:
        lines.append(f"| {theme} | {n} | {got} ({100 * got / n:.0f} %) | {fine} | {vain} |")
    return "\n".join(lines)


def _by_theme(results: Iterable[Tried]) -> Counter[str]:
    return Counter(result.written.theme for result in results)
