"""Which pairs two people read, in a practice that chose so: on both sides of what makes a pair one of them."""

from __future__ import annotations

from typing import Any

import pytest

from orders.verification import verify
from orders.verification.inspection import BY_KEY, POINTS, defects, not_looked_at
from orders.verification.second_reader import why_second_reader
from tests.orders.verification.pairs import as_ordered, eye, order, readings

PLAIN = eye(-2.0)


@pytest.mark.parametrize(
    ("chosen", "right", "kind", "why"),
    [
        ("strong", eye(-6.0), "single_vision", ["A power is strong."]),
        ("strong", eye(-5.75), "single_vision", []),
        ("strong", eye(-3.0, -2.0, 90.0), "single_vision", ["A power is strong."]),
        ("strong", eye(-3.0, -1.75, 90.0), "single_vision", []),
        ("prism", eye(-2.0, prism=[(1.0, "up")]), "single_vision", ["Prism is prescribed."]),
        ("prism", PLAIN, "single_vision", []),
        ("progressive", eye(-2.0, add=2.0), "progressive", ["The lenses are progressive."]),
        ("progressive", eye(-2.0, add=2.0), "multifocal", []),
        ("every", PLAIN, "single_vision", ["Here two people read every pair."]),
        ("borderline", PLAIN, "single_vision", []),
    ],
)
def test_a_pair_is_read_twice_for_what_the_practice_chose(chosen: str, right: Any, kind: str, why: list[str]) -> None:
    made = order(right, PLAIN, kind)
    verdict = verify(made, readings(as_ordered(made)), "iso-21987-2017")
    assert list(why_second_reader(made, verdict, [chosen])) == why
    assert why_second_reader(made, verdict, []) == ()


def test_a_borderline_figure_and_a_protected_patient_are_reasons_too() -> None:
    made = order(PLAIN, PLAIN)
    verdict = verify(made, readings(as_ordered(made), sphere=-2.12), "iso-21987-2017")
    found = why_second_reader(made, verdict, ["borderline", "protected"], protected="is 9 years old")
    assert found == ("The patient is 9 years old.", "A figure is borderline.")


def test_an_inspection_names_its_defects_and_what_nobody_looked_at() -> None:
    seen = {"surface": {"found": "defect", "words": "Scratch, right"}, "tint": {"found": "fine"}}
    assert defects(seen) == ((BY_KEY["surface"], "Scratch, right"),)
    assert [point.key for point in not_looked_at(seen)] == [
        point.key for point in POINTS if point.key not in ("surface", "tint")
    ]
