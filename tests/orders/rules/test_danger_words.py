"""What findings that can keep somebody from harm say: which eye, what was found, what is right, what to do."""

from __future__ import annotations

from typing import Any

import pytest

from orders.documents.order_report import FindingPart
from orders.rules import check
from orders.rules.examples import Example

Changes = dict[str, Any]


def findings(rule: str, changes: Changes, null: tuple[str, ...] = ()) -> list[FindingPart]:
    """What the rule says of the clean order with these changes, ``prescription.right.sphere`` and the like."""
    nested: Changes = {}
    for path, value in changes.items():
        *parents, last = path.split(".")
        part = nested
        for name in parents:
            part = part.setdefault(name, {})
        part[last] = value
    example = Example(rule, "trips", "words", set=nested, null=null)
    report = check(example.order(), example.lens_catalogue())
    return [part for part in report.findings if part.rule == rule]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (120.0, "Test vertex 120 mm cannot be right: a lens sits 6 mm to 20 mm before the eye. 12 mm? "),
        (1.2, "Test vertex 1.2 mm cannot be right: a lens sits 6 mm to 20 mm before the eye. 12 mm? "),
        (0.0, "Test vertex 0 mm cannot be right: a lens sits 6 mm to 20 mm before the eye. Look at"),
        (25.0, "Test vertex 25 mm cannot be right: a lens sits 6 mm to 20 mm before the eye. Look at"),
    ],
)
def test_a_slip_of_the_test_vertex_is_named_and_never_carried(typed: float, said: str) -> None:
    strong = {"prescription.vertex_mm": typed, "prescription.right.sphere": -7.25}
    [found] = findings("vertex-band", strong)
    assert found.message.startswith(said)
    assert (found.level, found.eye, found.field) == ("ask", None, "prescription.vertex_mm")
    assert findings("vertex-effect", strong) == []


def test_a_slip_of_one_worn_vertex_leaves_the_other_eye_alone() -> None:
    strong = {"fitting.right.vertex_mm": 130.0, "prescription.right.sphere": -7.25}
    [found] = findings("vertex-band", strong)
    assert found.message.startswith("Right worn vertex 130 mm cannot be right")
    assert "13 mm? Measure it again" in found.message
    assert (found.eye, found.field) == ("right", "fitting.right.vertex_mm")
    assert findings("vertex-effect", strong) == []
