"""Published check values of the trade, as rows for table-driven tests, each with the grade of its source.

Each row of ``rows.json`` has inputs, expected values, tolerance, source, grade and kind. Kind ``worked`` is the result
of a formula or a reading, ``limit`` a norm to compare a claim of ours with. Rows of grade ``computed`` were worked out
by us, or have a published answer to a question that we had to complete: they are regression values and never count as
published. What cannot be reproduced, is not tested or is itself ambiguous is listed in ``remarks.json``.

A test takes its rows through :func:`published`, which also counts them as tested.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal, get_args

import pytest

HERE = Path(__file__).parent

Grade = Literal["standard", "law", "handbook", "teaching", "common practice", "memory", "computed"]
GRADES: tuple[Grade, ...] = get_args(Grade)
"""Surest first. ``handbook`` holds peer-reviewed papers too; ``teaching`` is examination and teaching material;
``common practice`` is what labs, retailers and people of the trade say without a source of their own."""
PUBLISHED: tuple[Grade, ...] = GRADES[:5]
OF_A_PLACE: tuple[Grade, ...] = ("standard", "law")
"""Grades whose rows name the country (or ``international``) and the date of the text."""


@dataclass(frozen=True, eq=False)
class PublishedCase:
    """One row; ``seen``: what of the source was seen, where it was not the whole."""

    topic: str
    id: str
    inputs: dict[str, Any]
    expected: dict[str, Any]
    tolerance: float | dict[str, float] | None
    source: str
    grade: Grade
    kind: Literal["worked", "limit"]
    note: str = ""
    country: str | None = None
    dated: str | None = None
    seen: str | None = None
    bands: Any = None

    def __str__(self) -> str:
        return self.id

    @property
    def topic_number(self) -> int:
        return int(self.topic.split()[0])

    def allowed_difference(self, quantity: str) -> float:
        """The row's tolerance for one expected value, in its unit; binary noise where the row says 0."""
        given = self.tolerance.get(quantity, 0.0) if isinstance(self.tolerance, dict) else self.tolerance
        return (given or 0.0) + 1e-9


@cache
def all_cases() -> tuple[PublishedCase, ...]:
    rows = json.loads((HERE / "rows.json").read_text(encoding="utf-8"))
    return tuple(PublishedCase(**row) for row in rows)


@cache
def _remarks() -> dict[str, Any]:
    found: dict[str, Any] = json.loads((HERE / "remarks.json").read_text(encoding="utf-8"))
    return found


def not_reproduced() -> dict[str, dict[str, str]]:
    """{row id: {expected value: why it is not reproduced}}."""
    found: dict[str, dict[str, str]] = _remarks()["not_reproduced"]
    return found


def not_tested() -> dict[str, str]:
    """{row id: why no test uses this row}."""
    return {case_id: group["why"] for group in _remarks()["not_tested"] for case_id in group["rows"]}


def by_handbook_form() -> frozenset[str]:
    """Rows of rules of thumb and exam forms: `tests/optics/handbook.py` reproduces them, the product uses none."""
    return frozenset(_remarks()["by_handbook_form"])


def ambiguous() -> dict[str, str]:
    """{row id: what its source leaves open, rounds or simplifies}; the row is reproduced all the same."""
    found: dict[str, str] = _remarks()["ambiguous"]
    return found


def worked(topic: int) -> list[PublishedCase]:
    """The rows of a topic that are the result of a formula, less those that no test uses."""
    rows = (row for row in all_cases() if row.topic_number == topic and row.kind == "worked")
    return [row for row in rows if row.id not in not_tested()]


def by_id(*ids: str) -> list[PublishedCase]:
    """These rows, in this order. KeyError for an id that no row has."""
    rows = {row.id: row for row in all_cases()}
    return [rows[id] for id in ids]


_tested: set[str] = set()


def published(cases: Sequence[PublishedCase], beside: Sequence[PublishedCase] = ()) -> pytest.MarkDecorator:
    """Runs a test with each of these rows as its ``case``, and counts them as tested, with those it reads beside."""
    _tested.update(case.id for case in (*cases, *beside))
    return pytest.mark.parametrize("case", cases, ids=str)


def rows_in_use() -> frozenset[str]:
    """The ids of the rows that the test modules imported so far take."""
    return frozenset(_tested)


def assert_reproduces(case: PublishedCase, found: Mapping[str, Any]) -> None:
    """Every expected value of the row is in `found`, within the row's tolerance; values marked
    as not reproduced are left out."""
    explained = not_reproduced().get(case.id, {})
    for quantity, expected in case.expected.items():
        if quantity in explained:
            continue
        assert quantity in found, f"{case.id}: nothing computed for {quantity}"
        _assert_close(case, quantity, expected, found[quantity])


def _assert_close(case: PublishedCase, quantity: str, expected: Any, found: Any) -> None:
    where = f"{case.id} {quantity}: published {expected}, computed {found} ({case.source})"
    if isinstance(expected, list):
        assert len(expected) == len(found), where
        for one, other in zip(expected, found, strict=True):
            _assert_close(case, quantity, one, other)
    elif isinstance(expected, bool | str):
        assert found == expected, where
    else:
        assert abs(found - expected) <= case.allowed_difference(quantity), where
