"""What the check found about one lens of a comparison, in its own sentences. Pure.

A comparison keeps rule, level and eye of a finding only; the sentence is asked for where it is read.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from orders.documents.lens_option import OptionFinding
from orders.documents.order_report import FindingPart
from orders.documents.said_once import said_once
from orders.options.lenses.comparison import LensRow
from orders.rules.check import parts_of
from orders.rules.registry import rule_by_id


def found(row: LensRow, findings: Iterable[OptionFinding]) -> tuple[str, ...]:
    """What the check says of this lens for the findings named, each line once: the same of both eyes is one line."""
    lines: dict[str, None] = {}
    for rule, level in dict.fromkeys((one.rule, one.level) for one in findings):
        parts = [part for part in _parts(row, rule) if part.level == level]
        for line in said_once(parts):
            lines[line.whole] = None
    return tuple(lines)


def _parts(row: LensRow, id: str) -> Sequence[FindingPart]:
    rule, limits = rule_by_id(id), row.table.limits
    return parts_of(rule, rule.judge(row.case), limits.practice) if rule is not None else ()
