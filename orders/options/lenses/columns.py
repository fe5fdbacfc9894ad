"""Columns: one answer for each row of a comparison, worked out once for all rows that it cannot tell apart.

Work that reads the same values gives the same answer. So it is done for one row, what it read is looked up for the
others, and those that agree in all of it share the answer; the rest are split by what was read, and each part is worked
in its turn. The answers are the same as if every row had been worked by itself. Pure, and knows nothing of lenses.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orders.options.lenses.reads import Key

Rows = NDArray[np.intp]
Work = Callable[[int, bool], tuple[Any, set[Key]]]
"""Works one row, and notes what it reads if asked to: the answer, and what was read."""


@dataclass(frozen=True, eq=False)
class Column:
    """groups: for each row, which of the `answers` it has; rows of one group cannot be told apart by it."""

    groups: Rows
    answers: Sequence[Any]

    @property
    def is_constant(self) -> bool:
        return len(self.answers) == 1

    def of(self, row: int) -> Any:
        return self.answers[self.groups[row]]

    @classmethod
    def of_parts(cls, parts: Sequence[Any], part_of_row: Rows) -> Column:
        """A column from the answers of a few parts, each row having one of them; equal answers count as one."""
        places: dict[Any, int] = {}
        answers: list[Any] = []
        codes = np.empty(len(parts), dtype=np.intp)
        for number, answer in enumerate(parts):
            codes[number] = places.setdefault(_alike(answer), len(answers))
            if codes[number] == len(answers):
                answers.append(answer)
        return cls(codes[part_of_row], answers)


def _alike(answer: Any) -> Any:
    """Answers count as equal only if written alike: 0.0 and −0.0 do not, nor 1 and True."""
    return repr(answer)


SIMPLE = (float, int, str, bool, type(None))


def worked(rows: int, work: Work, column_of: Callable[[Key], Column]) -> Column:
    """One answer for each row. `column_of` gives the values of what was read."""
    answers: list[Any] = []
    groups = np.zeros(rows, dtype=np.intp)
    left: list[tuple[Rows, frozenset[Key]]] = [(np.arange(rows), frozenset())]
    while left:
        some, known = left.pop()
        groups[some] = len(answers)
        if some.size == 1:
            answers.append(work(int(some[0]), False)[0])
            continue
        answer, read = work(int(some[0]), True)
        answers.append(answer)
        codes = _codes(some, [column_of(key).groups for key in read - known])
        if codes is not None:
            told = known | read
            left += [(part, told) for part in _parts(some, codes) if part[0] != some[0]]
    if all(isinstance(answer, SIMPLE) for answer in answers):
        return Column.of_parts(answers, groups)
    return Column(groups, answers)


def _codes(rows: Rows, columns: list[Rows]) -> Rows | None:
    """A number for each row, alike for rows that agree in every column; None if all of them do."""
    codes: Rows | None = None
    for column in columns:
        these = column[rows]
        if (these == these[0]).all():
            continue
        if codes is not None:
            these = codes * (int(these.max()) + 1) + these
        codes = np.unique(these, return_inverse=True)[1]
    return codes


def _parts(rows: Rows, codes: Rows) -> list[Rows]:
    """The rows in parts of equal codes, each part in the order of the rows."""
    order = np.argsort(codes, kind="stable")
    ends = np.flatnonzero(np.diff(codes[order])) + 1
    return np.split(rows[order], ends)
