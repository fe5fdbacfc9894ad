"""One answer for all rows that cannot be told apart: never a different one than each row would get by itself."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders.options.lenses.columns import Column, worked
from orders.options.lenses.reads import Key, NotedPart, Reading, ReadTooLate
from orders.rules.examples import example_catalogue

FACTS = ("a", "b", "c")


@given(st.lists(st.tuples(*(st.integers(0, 3) for _ in FACTS)), min_size=1, max_size=40), st.integers(0, 3))
def test_what_is_read_may_depend_on_what_was_read_before(rows: list[tuple[int, ...]], turn: int) -> None:
    """Reads `b` only where `a` is at the turn, else `c`: as a rule does that returns early."""
    columns: dict[Key, Column] = {
        (fact,): Column.of_parts([row[place] for row in rows], np.arange(len(rows))) for place, fact in enumerate(FACTS)
    }
    worked_on: list[int] = []

    def work(row: int, noting: bool) -> tuple[str, set[Key]]:
        worked_on.append(row)
        a, b, c = rows[row]
        return (f"b{b}", {("a",), ("b",)}) if a == turn else (f"c{c}", {("a",), ("c",)})

    column = worked(len(rows), work, columns.__getitem__)
    assert [column.of(row) for row in range(len(rows))] == [f"b{b}" if a == turn else f"c{c}" for a, b, c in rows]
    assert len(worked_on) == len(set(worked_on)) <= len(set(rows))


def test_work_that_reads_nothing_is_done_once() -> None:
    times: list[int] = []

    def work(row: int, noting: bool) -> tuple[int, set[Key]]:
        times.append(row)
        return 7, set()

    column = worked(1000, work, lambda key: pytest.fail(f"{key} was not read"))
    assert (times, column.is_constant, column.of(999)) == ([0], True, 7)


def test_figures_that_differ_only_in_the_sign_of_zero_or_in_kind_are_not_one() -> None:
    column = Column.of_parts([0.0, -0.0, 0, False, 0.0], np.arange(5))
    assert [repr(column.of(row)) for row in range(5)] == ["0.0", "-0.0", "0", "False", "0.0"]


def test_a_part_notes_what_is_read_of_it_and_nothing_else() -> None:
    reading, design = Reading(), example_catalogue().designs[0]
    part = NotedPart(design, "design", ("kind", "needs"), reading)
    assert (part.name, reading.read) == (design.name, set())
    assert (part.kind, reading.read) == (design.kind, {("design", "kind")})


def test_comparing_a_part_reads_all_of_it() -> None:
    reading, (first, second, *_) = Reading(), example_catalogue().designs
    part = NotedPart(first, "design", ("kind", "needs"), reading)
    assert part == first
    assert part != second
    assert reading.read == {("design", "kind"), ("design", "needs")}


def test_a_part_that_outlives_its_row_refuses_to_speak_for_another() -> None:
    reading = Reading()
    part = NotedPart(example_catalogue().designs[0], "design", ("kind",), reading)
    reading.ended = True
    with pytest.raises(ReadTooLate):
        _ = part.kind
