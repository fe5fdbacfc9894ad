"""Completeness is no opinion: without a lens, a prescription, the frame's figures or a lab, no reason helps."""

from __future__ import annotations

import json
from typing import Any

import pytest

from orders.documents.lens_order import LensOrder, parse_order
from orders.documents.order_report import FindingPart, OrderReport
from orders.rules import check
from orders.rules.command import plain
from orders.rules.examples import clean_order, example_catalogue

NO_EYE = {"sphere": None, "cylinder": None, "axis": None, "add": None}


def order_with(**changes: Any) -> LensOrder:
    """The clean order with dotted keys (dots as ``__``) set, and every finding of these rules lifted."""
    document = json.loads(clean_order().model_dump_json(exclude_unset=True))
    for path, value in changes.items():
        *steps, last = path.split("__")
        part = document
        for step in steps:
            part = part[step]
        part[last] = value
    document["lifted"] = [
        {"rule": rule, "eye": eye, "reason": "The lab knows what we want", "by": "A. Dispenser"}
        for rule in ("job-complete", "box-complete", "sphere-blank")
        for eye in (None, "right", "left", "both")
    ]
    return parse_order(json.dumps(document))


def report_on(**changes: Any) -> OrderReport:
    return check(order_with(**changes), example_catalogue())


def at(report: OrderReport, field: str) -> FindingPart:
    return next(part for part in report.findings if part.field == field)


MISSING = [
    ({"lenses": {"right": None, "left": None}}, "lenses.right", "No lens is ordered for either eye."),
    ({"lenses__right__design": None}, "lenses.right.design", "No lens is named for the right eye."),
    ({"lenses__left__material": None}, "lenses.left.material", "No material is named for the left eye."),
    ({"prescription__right": NO_EYE, "prescription__left": NO_EYE}, "prescription", "There is no prescription."),
    ({"prescription__right__sphere": None}, "prescription.right.sphere", "The right eye has no sphere."),
    ({"frame__a_mm": None}, "frame.a_mm", "The frame's lens width (A) is missing."),
    ({"frame__a_mm": None, "supply": "edged"}, "frame.a_mm", "The frame's lens width (A) is missing."),
    ({"frame__mount": None}, "frame.mount", "The lenses are to be edged, and nothing says how the frame holds them."),
    ({"lab__name": " "}, "lab.name", "No lab is named."),
]


@pytest.mark.parametrize(("changes", "field", "says"), MISSING)
def test_what_is_missing_stays_a_stop_whatever_reason_was_given(changes: dict[str, Any], field: str, says: str) -> None:
    report = report_on(**changes)
    found = at(report, field)
    assert (found.level, found.says, found.liftable, found.confirmed_by) == ("stop", says, False, None)
    assert report.verdict == "stop"
    assert next(part for part in plain(report)["findings"] if part["field"] == field)["liftable"] is False


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"frame__a_mm": None, "supply": "uncut"}, "frame.a_mm"),
        ({"lenses__right__corridor_mm": None}, "lenses.right.corridor_mm"),
    ],
)
def test_what_the_lab_can_work_without_is_lifted_with_a_reason(changes: dict[str, Any], field: str) -> None:
    report = report_on(**changes)
    found = at(report, field)
    assert (found.level, found.liftable, found.confirmed_by) == ("stop", None, "A. Dispenser")
    assert all("liftable" not in part for part in plain(report)["findings"] if part["field"] == field)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"prescription__right": NO_EYE | {"cylinder": -1.0, "axis": 90}, "prescription__left": NO_EYE},
        {"prescription__right": NO_EYE, "prescription__left": NO_EYE, "lenses__left__instruction": "balance"},
    ],
)
def test_part_of_a_power_or_a_lens_without_power_is_a_prescription(changes: dict[str, Any]) -> None:
    assert "prescription" not in {part.field for part in report_on(**changes).findings}
