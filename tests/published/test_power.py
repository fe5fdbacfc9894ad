"""Topic 8 of the published cases: transposition, mean sphere, crossed cylinders, power vectors, axis errors."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from dispensing.optics.power import SphereCylinder, residual_cylinder
from tests.published.rows import PublishedCase, assert_reproduces, by_id, published, worked

Inputs = dict[str, Any]


def as_row(power: SphereCylinder) -> dict[str, Any]:
    return {"S": power.sphere, "C": power.cylinder, "axis": power.axis}


def transposed(inputs: Inputs) -> dict[str, Any]:
    return as_row(SphereCylinder(inputs["S"], inputs["C"], inputs["axis"]).transposed())


def crossed(inputs: Inputs) -> dict[str, Any]:
    return as_row(SphereCylinder(*inputs["lens1"]) + SphereCylinder(*inputs["lens2"]))


def equal_cylinders(inputs: Inputs) -> dict[str, Any]:
    pair = SphereCylinder(0.0, inputs["F"], 0.0) + SphereCylinder(0.0, inputs["F"], inputs["alpha"])
    plus = pair.in_plus_cylinder()
    return {"S": plus.sphere, "C": plus.cylinder, "theta": plus.axis}


def vector_sum(inputs: Inputs) -> dict[str, Any]:
    first, second = SphereCylinder(*inputs["a"]).vector(), SphereCylinder(*inputs["b"]).vector()
    total = first + second
    return {
        "SE1": first.m,
        "J0_1": first.j0,
        "SE2": second.m,
        "J0_2": second.j0,
        "SE": total.m,
        "J0": total.j0,
    }


def vector(inputs: Inputs) -> dict[str, Any]:
    found = SphereCylinder(inputs["S"], inputs["C"], inputs["axis"]).vector()
    return {"M": found.m, "J0": found.j0, "J45": found.j45}


def remaining(inputs: Inputs) -> dict[str, Any]:
    """What is still to be corrected over a cylinder that stands at another axis."""
    return as_row(SphereCylinder(*inputs["wanted"]) - SphereCylinder(*inputs["as_worn"]))


def residual_share(inputs: Inputs) -> dict[str, Any]:
    cylinder = 2.5
    left_over = residual_cylinder(cylinder * inputs["cyl_ratio"], inputs["rotation_deg"])
    return {"residual_over_cyl": left_over / cylinder}


def axis_error(cylinder_d: float, left_over_d: float) -> float:
    """The axis error in degrees that leaves so much of a cylinder."""
    error = math.degrees(math.asin(left_over_d / residual_cylinder(cylinder_d, 90.0)))
    assert residual_cylinder(cylinder_d, error) == pytest.approx(left_over_d)
    return error


def along_both(inputs: Inputs) -> dict[str, Any]:
    power = SphereCylinder(inputs["S"], inputs["C"], inputs["axis"])
    return {f"power_at_{meridian}": power.power_along(meridian) for meridian in (90, 180)}


COMPUTED: dict[str, Callable[[Inputs], dict[str, Any]]] = {
    "TRN": transposed,
    "SE": lambda i: {"SE": SphereCylinder(i["S"], i["C"]).mean_sphere},
    "OBL-02": crossed,
    "OBL-03": equal_cylinders,
    "OBL-04": crossed,
    "PV-01": vector_sum,
    "PV-02": vector,
    "AXERR-4": lambda i: {"axis_deg": axis_error(i["cyl"], i["error_D"])},
    "AXERR-5": lambda i: {"axis_deg": axis_error(i["cyl"], i["error_D"])},
    "AXERR-7": lambda i: {"axis_deg": axis_error(i["cyl"], i["error_D"])},
    "HB-041": lambda i: {
        f"power_at_{meridian}": SphereCylinder(i["S"], i["C"], i["axis"]).power_along(meridian)
        for meridian in (90, 180)
    },
    "HB": remaining,
    "HB-061": residual_share,
    "HB-062": lambda i: {"rotation_deg": axis_error(i["cyl_ratio"] * 2.5, 2.5)},
    "AXERR-8": lambda i: {"residual_cyl": residual_cylinder(i["cyl"], i["rotation_deg"])},
}


@published(worked(8))
def test_powers_come_out_as_published(case: PublishedCase) -> None:
    compute = COMPUTED.get(case.id) or COMPUTED[case.id.split("-")[0]]
    assert_reproduces(case, compute(case.inputs))


@published(by_id("HB-060"))
def test_two_cylinders_crossed_add_up_as_the_handbooks_formula_says(case: PublishedCase) -> None:
    expected, (first, second) = case.expected, (case.expected["example_C1"], case.expected["example_C2"])
    both = SphereCylinder(0.0, first, 180.0) + SphereCylinder(0.0, second, expected["example_a"])
    found = both.in_plus_cylinder()
    assert found.cylinder == pytest.approx(expected["CR"], abs=case.allowed_difference("CR"))
    assert found.sphere == pytest.approx(expected["S"], abs=case.allowed_difference("S"))
    assert found.axis == pytest.approx(expected["theta"], abs=case.allowed_difference("theta"))


@published(by_id("HB-063"))
def test_a_weaker_cylinder_leaves_the_whole_error_from_the_published_rotation_on(case: PublishedCase) -> None:
    eye = SphereCylinder(0.0, -2.0, 180.0)
    turned = SphereCylinder(0.0, -2.0 * case.inputs["cyl_ratio"], case.expected["rotation_deg"])
    assert (eye - turned).cylinder == pytest.approx(-2.0, abs=0.002)
    less = SphereCylinder(0.0, turned.cylinder, case.expected["rotation_deg"] - 1.0)
    assert abs((eye - less).cylinder) < 2.0 - 0.01
