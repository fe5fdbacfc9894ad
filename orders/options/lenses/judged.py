"""What the check says of every row: each rule's findings, and the verdict. Which levels and eyes, not the sentences.

The same rules as in the check; what differs is only how often each of them is asked. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dispensing.trade import PracticeLimits
from orders.documents.lens_option import OptionFinding
from orders.documents.order_report import FindingEye, Level, Verdict
from orders.options.lenses.columns import Column
from orders.options.lenses.row_table import RowTable
from orders.rules.case import Case
from orders.rules.check import open_level, parts_of
from orders.rules.finding import Finding
from orders.rules.registry import SEVERITY, Rule, all_rules

VERDICTS: tuple[Verdict, ...] = (*SEVERITY, "clear")
"""Worst first."""

Found = tuple[OptionFinding, ...]
Said = tuple[Found, int]


@dataclass(frozen=True, eq=False)
class Judged:
    """The findings of each rule that has any, and the place of each row's verdict in VERDICTS."""

    by_rule: Sequence[Column]
    places: NDArray[np.intp]

    def verdict(self, row: int) -> Verdict:
        return VERDICTS[int(self.places[row])]

    def findings(self, row: int) -> Found:
        """All findings of a row in the order of the report: worst first, then by the rules' numbers."""
        found = [finding for column in self.by_rule for finding in column.of(row)[0]]
        return tuple(sorted(found, key=lambda finding: SEVERITY.index(finding.level)))


def judged(table: RowTable, practice: PracticeLimits) -> Judged:
    judges = [_Judge(table, rule, practice) for rule in all_rules()]
    table.make_ready(judges)
    columns = [table.each(judge) for judge in judges]
    places = np.full(table.count, len(VERDICTS) - 1, dtype=np.intp)
    for column in columns:
        worst = np.array([place for _, place in column.answers], dtype=np.intp)
        np.minimum(places, worst[column.groups], out=places)
    return Judged([column for column in columns if any(found for found, _ in column.answers)], places)


class _Judge:
    """One rule, asked about one case: its findings, and the place of the worst that is still open."""

    def __init__(self, table: RowTable, rule: Rule, practice: PracticeLimits):
        self._lifted, self._rule, self._practice = table.order.lifted or (), rule, practice
        self._said: dict[tuple[Level, FindingEye | None, bool], Said] = {}

    def __call__(self, case: Case) -> Said:
        found: list[OptionFinding] = []
        worst = CLEAR
        for finding in self._rule.judge(case):
            said, place = self._of(finding)
            found += said
            worst = min(worst, place)
        return (tuple(found), worst) if found else NOTHING

    def _of(self, finding: Finding) -> Said:
        """What is left of a finding here, which is the same for all of one level, eye and liftability."""
        key = finding.level or self._rule.level, finding.eye, finding.liftable
        if key not in self._said:
            parts = parts_of(self._rule, [finding], self._practice)
            said = tuple(OptionFinding(rule=part.rule, level=part.level, eye=part.eye) for part in parts)
            self._said[key] = said, VERDICTS.index(open_level(parts, self._lifted))
        return self._said[key]


CLEAR = VERDICTS.index("clear")
NOTHING: Said = ((), CLEAR)
