"""Counts the published rows by the grade of their source, for the table in DEVELOPERS.md.

``python -m tests.published.table`` prints it, and below it what is not reproduced, left open or not tested, and why.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

from tests.published.rows import (
    GRADES,
    PublishedCase,
    all_cases,
    ambiguous,
    by_handbook_form,
    not_reproduced,
    not_tested,
    rows_in_use,
)

TESTS = Path(__file__).parent.parent
WORDS = {
    "standard": "Standard, with country and date",
    "law": "Law, with country and date",
    "handbook": "Handbook or peer-reviewed paper",
    "teaching": "Examination or teaching material",
    "common practice": "Common practice: labs, retailers, people of the trade",
    "memory": "Memory, not confirmed",
    "computed": "Worked out or completed by us",
}


def import_all_tests_of_rows() -> None:
    """Import every test module that takes rows, so that all of them are counted."""
    for path in sorted(TESTS.rglob("test_*.py")):
        if "tests.published.rows import" in path.read_text(encoding="utf-8"):
            import_module(".".join(path.relative_to(TESTS.parent).with_suffix("").parts))


def lines_of_table() -> Iterator[str]:
    """The table in Markdown: rows by grade, and how many examples and norms a test uses."""
    yield "| Source | Rows | Examples tested | Norms tested | Not tested |"
    yield "|---|---|---|---|---|"
    for grade in GRADES:
        yield _line(WORDS[grade], [row for row in all_cases() if row.grade == grade])
    yield _line("All", list(all_cases()))
    yield ""
    yield f"{len(by_handbook_form())} of those tested are rules of thumb and exam forms that stand with the tests only:"
    yield "the product's own figures are held against them."


def _line(words: str, rows: list[PublishedCase]) -> str:
    used = [row for row in rows if row.id in rows_in_use()]
    examples = sum(row.kind == "worked" for row in used)
    figures = len(rows), examples, len(used) - examples, len(rows) - len(used)
    return f"| {words} | " + " | ".join(str(figure) for figure in figures) + " |"


def lines_of_remarks() -> Iterator[str]:
    yield "Not reproduced:"
    for case_id, reasons in not_reproduced().items():
        yield from (f"  {case_id} {quantity}: {reason}" for quantity, reason in reasons.items())
    yield "The source leaves something open:"
    yield from (f"  {case_id}: {reason}" for case_id, reason in ambiguous().items())
    yield "Not tested:"
    yield from (f"  {case_id}: {reason}" for case_id, reason in not_tested().items())


if __name__ == "__main__":
    import_all_tests_of_rows()
    print("\n".join([*lines_of_table(), "", *lines_of_remarks()]))
