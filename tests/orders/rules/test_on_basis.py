"""The power to order on each basis does at the eye what was prescribed, and is refused where something is missing."""

from __future__ import annotations

from typing import Any

import pytest

from dispensing.optics.power import SphereCylinder
from dispensing.trade import Limits
from orders.documents.lens_order import PowerBasis
from orders.options import changed
from orders.options.power_proposals import on_basis
from orders.rules import check
from orders.rules.case import Case
from orders.rules.examples import clean_order, example_catalogue
from orders.rules.on_basis import missing_for, power_on_basis, rounded
from tests.known import there

STRONG: dict[str, Any] = {
    "lenses.right.design": "single",
    "lenses.left.design": "single",
    "use": "distance",
    "prescription.right.sphere": 8.0,
    "prescription.right.cylinder": -2.0,
    "prescription.right.axis": 30,
    "prescription.vertex_mm": 12.0,
    "fitting.right.vertex_mm": 15.0,
    "fitting.pantoscopic_deg": 15.0,
    "fitting.face_form_deg": 12.0,
}


def case(**changes: Any) -> Case:
    order = changed(clean_order(), {**STRONG, **{name.replace("__", "."): value for name, value in changes.items()}})
    return Case(order, example_catalogue(), (), Limits())


def test_as_prescribed_is_the_power_that_follows_from_the_use() -> None:
    near = case(use="near").right
    assert power_on_basis(near, "as_prescribed") == SphereCylinder(9.75, -2.0, 30.0)


def test_carried_to_the_worn_vertex_each_meridian_follows_the_handbook() -> None:
    carried = there(power_on_basis(case().right, "carried_to_vertex"))
    along, across = 8.0 / (1.0 + 0.003 * 8.0), 6.0 / (1.0 + 0.003 * 6.0)
    assert (carried.sphere, carried.sphere + carried.cylinder) == pytest.approx((along, across))
    assert carried.axis == 30.0


@pytest.mark.parametrize("basis", ["carried_to_vertex", "as_worn"])
def test_a_prescription_in_plus_cylinders_is_ordered_in_plus_cylinders(basis: PowerBasis) -> None:
    plus = case(prescription__right__sphere=6.0, prescription__right__cylinder=2.0, prescription__right__axis=120)
    power = there(power_on_basis(plus.right, basis))
    minus = there(power_on_basis(case().right, basis))
    assert power.cylinder > 1.0
    assert power.distance_to(minus) < 0.01


def test_what_is_compensated_for_wear_is_felt_as_prescribed() -> None:
    before = case()
    change = there(on_basis(before, "as_worn"))
    after = check(changed(before.order, change), example_catalogue())

    felt = there(after.computed.right.as_worn)
    told = SphereCylinder(felt.sphere, felt.cylinder, felt.axis)
    # An eighth is the step that powers are ordered in.
    assert told.distance_to(SphereCylinder(8.0, -2.0, 30.0)) < 0.125
    uncorrected = there(check(before.order, example_catalogue()).computed.right.as_worn)
    assert SphereCylinder(uncorrected.sphere, uncorrected.cylinder, uncorrected.axis).distance_to(told) > 0.25
    assert "ordered-power" not in {part.rule for part in after.findings}


MISSING: list[tuple[PowerBasis, str, str | None]] = [
    ("carried_to_vertex", "prescription.vertex_mm", "prescription.vertex_mm"),
    ("carried_to_vertex", "fitting.right.vertex_mm", "fitting.right.vertex_mm"),
    ("carried_to_vertex", "fitting.pantoscopic_deg", None),
    ("as_worn", "fitting.pantoscopic_deg", "fitting.pantoscopic_deg"),
    ("as_worn", "fitting.face_form_deg", "fitting.face_form_deg"),
    ("as_worn", "lenses.right.material", "lenses.right.material"),
    ("as_prescribed", "prescription.vertex_mm", None),
]


@pytest.mark.parametrize(("basis", "gone", "named"), MISSING)
def test_what_a_basis_lacks_is_named_by_its_key(basis: PowerBasis, gone: str, named: str | None) -> None:
    eye = case(**{gone: None}).right
    lacking = missing_for(eye, basis)
    assert (lacking and lacking[1]) == named
    assert (power_on_basis(eye, basis) is None) is (named is not None)


def test_an_impossible_vertex_carries_nothing() -> None:
    assert power_on_basis(case(fitting__right__vertex_mm=150.0).right, "carried_to_vertex") is None


def test_a_power_is_ordered_in_eighths_and_whole_degrees() -> None:
    assert rounded(SphereCylinder(-9.247, -1.066, 29.6)) == SphereCylinder(-9.25, -1.125, 30.0)
    assert rounded(SphereCylinder(-9.247, -0.03, 29.6)) == SphereCylinder(-9.25, 0.0, 180.0)
