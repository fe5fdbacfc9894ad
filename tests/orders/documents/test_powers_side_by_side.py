"""One line says which plane the ordered powers refer to, and who allows for how they are worn."""

from __future__ import annotations

import json
from typing import Any

import pytest

from orders.documents.lens_order import parse_order
from orders.documents.order_report import OrderReport
from orders.documents.powers_side_by_side import powers_side_by_side, what_powers_stand_for
from tests.orders.orders_on_paper import ORDER

TESTED = "Back vertex powers for the test's vertex distance (12.0 mm), not compensated here"
NOTHING_SAID = OrderReport(verdict="clear")


def said(lens: dict[str, Any] | None = None, **changes: Any) -> str:
    lenses = {eye: {**ORDER["lenses"][eye], **(lens or {})} for eye in ("right", "left")}
    return what_powers_stand_for(parse_order(json.dumps({**ORDER, "lenses": lenses, **changes})))


def test_as_prescribed_the_lab_may_compensate_or_does_so_if_its_design_does() -> None:
    assert said() == f"For distance. {TESTED}; the lab may compensate."
    design = {"extra": {"compensated": True}}
    assert said(design) == f"For distance. {TESTED}; the lab compensates them for the position of wear."
    assert said({"extra": {"compensated": False}}) == said()


def test_a_vertex_that_nobody_wrote_down_is_said_to_be_unknown() -> None:
    prescription = {**ORDER["prescription"], "vertex_mm": None, "use": None}
    assert said(prescription=prescription).startswith("Back vertex powers for the test's vertex distance (not known)")


@pytest.mark.parametrize(
    ("basis", "left_mm", "wanted"),
    [
        ("carried_to_vertex", 13.0, "carried by the practice to the vertex distance as worn (13.0 mm). Make them as"),
        (
            "carried_to_vertex",
            12.0,
            "distance as worn (right 13.0 mm, left 12.0 mm). Make them as they stand.",
        ),
        ("as_worn", 13.0, "(13.0 mm), tilt 9.0 ° and face form 5.0 °. Make them as they stand."),
    ],
)
def test_what_the_practice_allowed_for_is_told_with_its_figures(basis: str, left_mm: float, wanted: str) -> None:
    fitting = {
        "right": {"vertex_mm": 13.0},
        "left": {"vertex_mm": left_mm},
        "pantoscopic_deg": 9.0,
        "face_form_deg": 5.0,
    }
    assert wanted in said(power_basis=basis, fitting=fitting, use="near")


def test_a_reader_without_a_report_is_shown_the_powers_that_the_order_states() -> None:
    assert powers_side_by_side(parse_order(json.dumps(ORDER)), NOTHING_SAID) == ()
    stated = {"power": {"sphere": -1.25, "cylinder": -1.0, "axis": 170}}
    lenses = {"right": {**ORDER["lenses"]["right"], **stated}, "left": ORDER["lenses"]["left"]}
    (right,) = powers_side_by_side(parse_order(json.dumps({**ORDER, "lenses": lenses})), NOTHING_SAID, "plus")
    assert (right.eye, right.prescribed.sphere, right.worn) == ("right", -4.25, None)
    assert (right.ordered.sphere, right.ordered.cylinder, right.ordered.axis) == (-2.25, 1.0, 80.0)
