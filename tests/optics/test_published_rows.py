"""The published rows themselves: all there, none counted twice, remarks that belong to rows."""

from __future__ import annotations

from tests.optics.published_cases import all_cases, ambiguous, cases, elsewhere, formula_cases, not_reproduced
from tests.optics.published_table import lines_of_table

TOPICS_RUN_WHOLE = (1, 2, 3, 4, 5, 6, 7, 8, 11, 12)
"""By the `test_published_*` modules, each with all worked and computed rows of its topics."""


def test_every_row_has_its_own_id_and_names_its_source() -> None:
    assert len({row.id for row in all_cases()}) == len(all_cases()) == 298
    assert all(row.source for row in all_cases())
    assert {row.kind for row in all_cases()} == {"worked", "computed", "limit"}


def test_a_topic_is_found_by_its_number_and_not_by_a_number_that_begins_alike() -> None:
    assert {row.topic_number for row in cases(1)} == {1}
    assert {row.topic_number for row in cases("11")} == {11}
    assert {row.kind for row in formula_cases(3)} == {"worked", "computed"}
    assert all(row.kind == "limit" for row in cases(3, "limit"))


def test_every_worked_or_computed_row_is_run_or_said_to_be_elsewhere() -> None:
    formulas = {row.id for row in all_cases() if row.kind != "limit"}
    run = {row.id for topic in TOPICS_RUN_WHOLE for row in formula_cases(topic)} | {"F-06"}
    assert run | set(elsewhere()) == formulas
    assert not run & set(elsewhere())


def test_remarks_belong_to_rows_and_to_values_of_those_rows() -> None:
    rows = {row.id: row for row in all_cases()}
    assert set(ambiguous()) <= set(rows)
    for case_id, reasons in not_reproduced().items():
        assert set(reasons) <= set(rows[case_id].expected)


def test_the_table_counts_worked_and_computed_rows_apart() -> None:
    worked, computed = cases(3, "worked")[0], cases(3, "computed")[0]
    table = list(lines_of_table({worked.id: True, computed.id: False}))
    (vertex,) = (line for line in table if line.startswith("3 vertex"))
    assert vertex.split()[-6:] == ["8", "1", "1", "4", "1", "0"]
    assert table[-1] == f"Failed: {computed.id}"
