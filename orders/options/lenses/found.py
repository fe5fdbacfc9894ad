"""What the check found, in its own sentences: about one row of a comparison, or about all of them alike. Pure.

A comparison keeps rule, level and eye of a finding only; the sentence is asked for where it is read.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import partial

from dispensing.trade import PracticeLimits
from orders.documents.lens_option import OptionFinding
from orders.documents.order_report import Level
from orders.documents.said_once import said_once
from orders.options.lenses.judged_row import JudgedRow
from orders.rules.case import Case
from orders.rules.check import parts_of
from orders.rules.registry import Rule, rule_by_id

Lines = tuple[str, ...]


def found(row: JudgedRow, findings: Iterable[OptionFinding]) -> Lines:
    """What the check says of this row for the findings named, each line once: the same of both eyes is one line."""
    practice = row.table.limits.practice
    lines = [line for rule, level in _rules(findings) for line in _lines(rule, level, row.case, practice)]
    return tuple(dict.fromkeys(lines))


def found_with_all(rows: Sequence[JudgedRow], findings: Iterable[OptionFinding]) -> Lines:
    """What the check says whichever row is taken, of findings that all of them have.

    Where the sentence differs from one to the next, such as in a figure, no single one would be true of all.
    """
    tables = list({id(row.table): row.table for row in rows}.values())
    lines: dict[str, None] = {}
    for rule, level in _rules(findings):
        works = [(table, partial(_lines, rule, level, practice=table.limits.practice)) for table in tables]
        said = {answer for table, work in works for answer in table.each(work).answers}
        told = said.pop() if len(said) == 1 else (f"Not with any of them: {_inside_a_sentence(rule.title)}.",)
        lines |= dict.fromkeys(told)
    return tuple(lines)


def _inside_a_sentence(title: str) -> str:
    """A title without its capital, unless it begins with an abbreviation."""
    return title if title[1:2].isupper() else f"{title[0].lower()}{title[1:]}"


def _rules(findings: Iterable[OptionFinding]) -> Iterator[tuple[Rule, Level]]:
    for id, level in dict.fromkeys((one.rule, one.level) for one in findings):
        rule = rule_by_id(id)
        if rule is not None:
            yield rule, level


def _lines(rule: Rule, level: Level, case: Case, practice: PracticeLimits) -> Lines:
    parts = [part for part in parts_of(rule, rule.judge(case), practice) if part.level == level]
    return tuple(line.whole for line in said_once(parts))
