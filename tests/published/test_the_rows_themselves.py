"""The published rows themselves: all present and graded, none counted twice, all tested or with a reason why not."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.published.rows import (
    GRADES,
    OF_A_PLACE,
    all_cases,
    ambiguous,
    by_handbook_form,
    by_id,
    not_reproduced,
    not_tested,
    rows_in_use,
    worked,
)
from tests.published.table import import_all_tests_of_rows, lines_of_table

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"


@pytest.fixture(scope="module", autouse=True)
def _all_tests_of_rows() -> None:
    import_all_tests_of_rows()


def test_every_row_has_its_own_id_a_source_and_a_grade() -> None:
    assert len({row.id for row in all_cases()}) == len(all_cases()) == 370
    assert all(row.source for row in all_cases())
    assert {row.grade for row in all_cases()} == set(GRADES)
    assert {row.kind for row in all_cases()} == {"worked", "limit"}


def test_a_standard_or_law_names_its_country_and_date_and_nothing_else_claims_one() -> None:
    for row in all_cases():
        assert bool(row.country and row.dated) == (row.grade in OF_A_PLACE), row.id


def test_what_we_completed_does_not_count_as_published() -> None:
    fitted = [row for row in all_cases() if "diameter_implied" in row.inputs]
    ours = [row for row in all_cases() if row.source.startswith(("computed", "inputs "))]
    assert len(fitted) == 6
    assert {row.grade for row in [*fitted, *ours, *by_id("VX-09")]} == {"computed"}


def test_rows_are_found_by_topic_and_id_and_not_by_a_number_that_begins_alike() -> None:
    assert {row.topic_number for row in worked(1)} == {1}
    assert {row.kind for row in worked(11)} == {"worked"}
    assert [row.id for row in by_id("VX-14", "VX-01")] == ["VX-14", "VX-01"]
    with pytest.raises(KeyError):
        by_id("VX")


def test_every_row_is_tested_or_said_why_not_and_never_both() -> None:
    ids = {row.id for row in all_cases()}
    assert rows_in_use() | set(not_tested()) == ids
    assert not rows_in_use() & set(not_tested())
    assert all(not_tested().values())


def test_remarks_belong_to_rows_and_to_values_of_those_rows() -> None:
    rows = {row.id: row for row in all_cases()}
    assert set(ambiguous()) <= set(rows)
    assert by_handbook_form() <= rows_in_use()
    for case_id, reasons in not_reproduced().items():
        assert set(reasons) <= set(rows[case_id].expected)


def test_the_table_for_developers_counts_them_as_they_are() -> None:
    table = "\n".join(lines_of_table())
    assert table in DEVELOPERS.read_text(encoding="utf-8"), f"Run python -m tests.published.table:\n{table}"
