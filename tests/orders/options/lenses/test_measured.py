"""A figure of many rows, asked on one: it answers as the plain figure would, and notes what tells rows apart."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from dispensing.optics.errors import require_range
from orders.options.lenses.columns import Column
from orders.options.lenses.measured import Measured
from orders.options.lenses.reads import Key
from orders.rules import compare, words

VALUES = [4.0, 6.0, 8.0, 8.004, 8.006, 8.02, -0.0, float("nan")]


class Row:
    def __init__(self, number: int):
        self.number = number
        self.noted: dict[Key, Column] = {}

    def note_column(self, key: Key, make: Callable[[], Column]) -> None:
        self.noted.setdefault(key, make())

    def alike(self) -> set[int]:
        """The rows that agree with this one in everything noted."""
        columns = [column.groups for column in self.noted.values()]
        return {row for row in range(len(VALUES)) if all(c[row] == c[self.number] for c in columns)}

    def figure(self) -> Any:
        return Measured(("edge",), np.array(VALUES), self)


QUESTIONS: dict[str, Callable[[Any], Any]] = {
    "above a limit": lambda x: compare.above(x, 8.0),
    "below a limit": lambda x: compare.below(x, 5.0),
    "outside limits": lambda x: compare.outside(x, 5.0, 8.0),
    "difference above a limit": lambda x: compare.above(x - 1.5, 4.5),
    "a limit less it": lambda x: compare.above(7.0 - x, 0.0),
    "size of the difference": lambda x: compare.at_least(abs(6.5 - x), 0.5),
    "twice it": lambda x: 2.0 * x > 12.0,
    "half of it": lambda x: x / 2.0 > 3.0,
    "the greater of two": lambda x: max(x, 7.0) > 7.5,
    "its sign": lambda x: bool(x),
    "equal": lambda x: x == 6.0,
    "in words": words.mm,
    "rounded": lambda x: round(x, 1),
    "a root": lambda x: math.sqrt(abs(x)),
    "negated": lambda x: -x < -5.0,
    "as a key": lambda x: {6.0: "six"}.get(x, "another"),
}


@pytest.mark.parametrize("name", QUESTIONS)
@pytest.mark.parametrize("number", range(len(VALUES) - 1))
def test_it_answers_as_the_plain_figure_and_so_do_all_rows_alike(name: str, number: int) -> None:
    ask, row = QUESTIONS[name], Row(number)
    answer = ask(row.figure())
    assert answer == ask(VALUES[number])
    assert {repr(ask(VALUES[other])) for other in row.alike() if not math.isnan(VALUES[other])} == {repr(answer)}


def test_only_the_side_of_a_limit_tells_rows_apart_where_nothing_else_is_asked() -> None:
    row = Row(0)
    assert not compare.above(row.figure(), 7.0)
    assert row.alike() >= {0, 1, 6}
    assert not row.alike() & {2, 3, 4, 5}


def test_close_to_a_limit_the_figure_itself_is_what_was_read() -> None:
    row = Row(3)
    assert not compare.above(row.figure(), 8.0)
    assert row.alike() == {3}


@pytest.mark.parametrize("number", range(3))
def test_the_guards_of_the_optics_get_the_figure(number: int) -> None:
    row = Row(number)
    got = require_range("edge", row.figure(), "mm", 0.0, 20.0)
    assert (type(got), got, row.alike()) == (float, VALUES[number], {number})
