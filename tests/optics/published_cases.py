"""Published and computed check values of the trade, as rows for table-driven tests.

Each row of `published_cases.json` has inputs, expected values, tolerance, source and kind.  Kind `worked` is
a published example and counts as outside proof; `computed` is a regression value, worked out with the
handbooks' formulas, and never counts as proof; `limit` is a norm to quote.  What cannot be reproduced, or is
itself ambiguous, is said in `published_remarks.json`, by row and expected value.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent


@dataclass(frozen=True, eq=False)
class PublishedCase:
    """One row; parametrise a test with it and the run's table counts it."""

    topic: str
    id: str
    inputs: dict[str, Any]
    expected: dict[str, Any]
    tolerance: float | dict[str, float] | None
    source: str
    status: str
    kind: str
    note: str = ""
    bands: Any = None

    @property
    def topic_number(self) -> int:
        return int(self.topic.split()[0])

    def allowed_difference(self, quantity: str) -> float:
        """The row's tolerance for one expected value, in its unit; binary noise where the row says 0."""
        given = self.tolerance.get(quantity, 0.0) if isinstance(self.tolerance, dict) else self.tolerance
        return (given or 0.0) + 1e-9


@cache
def all_cases() -> tuple[PublishedCase, ...]:
    rows = json.loads((HERE / "published_cases.json").read_text(encoding="utf-8"))
    return tuple(PublishedCase(**row) for row in rows)


@cache
def _remarks() -> dict[str, Any]:
    found: dict[str, Any] = json.loads((HERE / "published_remarks.json").read_text(encoding="utf-8"))
    return found


def not_reproduced() -> dict[str, dict[str, str]]:
    """{row id: {expected value: why it is not reproduced}}."""
    found: dict[str, dict[str, str]] = _remarks()["not_reproduced"]
    return found


def elsewhere() -> dict[str, str]:
    """{row id: why no test of the optics core runs this worked or computed row}."""
    found: dict[str, str] = _remarks()["elsewhere"]
    return found


def ambiguous() -> dict[str, str]:
    """{row id: what its source leaves open, rounds or simplifies}; the row is reproduced all the same."""
    found: dict[str, str] = _remarks()["ambiguous"]
    return found


def cases(topic_prefix: str | int, kind: str | None = None) -> list[PublishedCase]:
    """The rows of a topic ("2", "2 Prentice", 2), of one kind ("worked", "computed", "limit") or of all."""
    prefix = str(topic_prefix)
    wanted = f"{prefix} " if prefix.isdigit() else prefix
    return [row for row in all_cases() if row.topic.startswith(wanted) and kind in (None, row.kind)]


def formula_cases(topic_prefix: str | int) -> list[PublishedCase]:
    """The worked and computed rows of a topic: those that are the result of a formula."""
    return cases(topic_prefix, "worked") + cases(topic_prefix, "computed")


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
