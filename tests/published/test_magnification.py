"""Topic 11 of the published cases: spectacle magnification and transverse chromatic aberration."""

from __future__ import annotations

from typing import Any

from dispensing.optics.chromatic import transverse_chromatic_aberration_at
from dispensing.optics.magnification import MagnifyingLens
from dispensing.optics.power import SphereCylinder
from tests.published.rows import PublishedCase, assert_reproduces, published, worked


def computed(inputs: dict[str, Any]) -> dict[str, Any]:
    if "bvp" in inputs:
        lens = MagnifyingLens(inputs["bvp"], inputs["F1"], inputs["t_mm"], inputs["n"], inputs["vertex_mm"])
        return {"shape": lens.shape_factor, "power": lens.power_factor, "total": lens.magnification}
    lens_power = SphereCylinder(inputs["F"])
    return {"tca": transverse_chromatic_aberration_at(lens_power, inputs["mm"], 0.0, "right", inputs["V"])}


@published(worked(11))
def test_magnification_and_colour_come_out_as_published(case: PublishedCase) -> None:
    assert_reproduces(case, computed(case.inputs))
