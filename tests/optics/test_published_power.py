"""Topic 8 of the published cases: transposition, mean sphere, crossed cylinders, power vectors, axis errors."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from dispensing.optics.power import SphereCylinder, axis_error_for, residual_cylinder
from tests.optics.published_cases import PublishedCase, assert_reproduces, formula_cases

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


COMPUTED: dict[str, Callable[[Inputs], dict[str, Any]]] = {
    "TRN": transposed,
    "SE": lambda i: {"SE": SphereCylinder(i["S"], i["C"]).mean_sphere},
    "OBL-02": crossed,
    "OBL-03": equal_cylinders,
    "OBL-04": crossed,
    "PV-01": vector_sum,
    "PV-02": vector,
    "AXERR-4": lambda i: {"axis_deg": axis_error_for(i["cyl"], i["error_D"])},
    "AXERR-5": lambda i: {"axis_deg": axis_error_for(i["cyl"], i["error_D"])},
    "AXERR-7": lambda i: {"axis_deg": axis_error_for(i["cyl"], i["error_D"])},
    "AXERR-8": lambda i: {"residual_cyl": residual_cylinder(i["cyl"], i["rotation_deg"])},
}


@pytest.mark.parametrize("case", formula_cases(8), ids=lambda case: case.id)
def test_powers_come_out_as_published(case: PublishedCase) -> None:
    compute = COMPUTED.get(case.id) or COMPUTED[case.id.split("-")[0]]
    assert_reproduces(case, compute(case.inputs))
