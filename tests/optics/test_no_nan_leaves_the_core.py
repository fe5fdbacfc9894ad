"""Every number given to a public function may be wrong; each wrong one is refused with the one error."""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any

import pytest

from dispensing.optics import (
    centration,
    chromatic,
    imbalance,
    magnification,
    notation,
    power,
    prism,
    rounding,
    tilt,
    tilt_handbook,
    vertex,
)
from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism

MODULES = (
    centration,
    chromatic,
    imbalance,
    magnification,
    notation,
    power,
    prism,
    rounding,
    tilt,
    tilt_handbook,
    vertex,
)

# One believable value for every name of an argument in the core; a new name fails until it is added here.
BELIEVABLE: dict[str, Any] = {
    "abbe": 40.0,
    "a_mm": 52.0,
    "add_d": 2.0,
    "axis_deg": 170.0,
    "axis_error_deg": 3.0,
    "b_mm": 38.0,
    "base_curve_d": 5.0,
    "centre_thickness_mm": 2.0,
    "closer_by_mm": 2.0,
    "corridor_mm": 14.0,
    "cross_above_mm": 4.0,
    "cylinder_d": -1.0,
    "dbl_mm": 18.0,
    "demand_d": 2.5,
    "denominator": 3.0,
    "depth_mm": 19.0,
    "drop_mm": 4.0,
    "eye_distance_mm": 12.0,
    "face_form_deg": 5.0,
    "far_pd_mm": 32.0,
    "found": 1.0,
    "front_power_d": 6.0,
    "height_mm": 21.0,
    "horizontal_power_d": -3.0,
    "index": 1.6,
    "inset_mm": 2.0,
    "left_inset_mm": 2.0,
    "level_mm": 10.0,
    "limit": 2.0,
    "mono_pd_mm": 32.0,
    "moved_in_mm": 2.0,
    "moved_up_mm": 2.0,
    "near_pd_mm": 30.0,
    "pantoscopic_deg": 9.0,
    "pd_mm": 32.0,
    "power_d": -3.0,
    "prism_pd": 1.0,
    "residual_d": 0.12,
    "right_inset_mm": 2.0,
    "share": 0.5,
    "sphere_d": -3.0,
    "step": 0.25,
    "stop_mm": 27.0,
    "tested_mm": 12.0,
    "tested_vertex_mm": 12.0,
    "tilt_deg": 9.0,
    "top_to_segment_centre_mm": 5.0,
    "value": 1.3,
    "vertex_mm": 13.0,
    "wanted_in_pd": 1.0,
    "working_distance_mm": 400.0,
    "worn_mm": 13.0,
    "worn_vertex_mm": 13.0,
    "x_in_mm": 2.0,
    "y_up_mm": -8.0,
}
OTHERS: dict[str, Any] = {
    "SphereCylinder": SphereCylinder(-3.25, -1.0, 170.0),
    "Prism": Prism(1.0, 0.5),
    "LensPoint": centration.LensPoint(3.5, 2.0),
    "VerticalImbalance": imbalance.VerticalImbalance(1.0, -0.5),
    "MagnifyingLens": magnification.MagnifyingLens(4.0, 8.0, 4.0, 1.5, 12.0),
    "Eye": "right",
}
# Take no figures of their own, or text.
FIGURELESS = {"parse_power", "parse_add", "parse_axis", "parse_prescription_line", "parse_prescription", "resultant"}


def public_functions(module: ModuleType) -> Iterator[Callable[..., Any]]:
    for name, found in inspect.getmembers(module, inspect.isfunction):
        if found.__module__ == module.__name__ and not name.startswith("_") and name not in FIGURELESS:
            yield found


def believable_call(function: Callable[..., Any]) -> tuple[dict[str, Any], list[str]]:
    """Keyword arguments that work, and the names of those that are figures."""
    arguments: dict[str, Any] = {}
    figures = []
    for name, parameter in inspect.signature(function).parameters.items():
        kind = str(parameter.annotation)
        if "float" in kind:
            arguments[name] = BELIEVABLE[name]
            figures.append(name)
        elif kind in OTHERS:
            arguments[name] = OTHERS[kind]
        else:
            assert parameter.default is not inspect.Parameter.empty, f"{function.__name__} {name}: {kind}"
    return arguments, figures


def cases() -> Iterator[Any]:
    for module in MODULES:
        for function in public_functions(module):
            _, figures = believable_call(function)
            for figure in figures:
                yield pytest.param(function, figure, id=f"{function.__name__}-{figure}")


@pytest.mark.parametrize(("function", "figure"), list(cases()))
def test_a_figure_that_is_no_number_is_refused(function: Callable[..., Any], figure: str) -> None:
    arguments, _ = believable_call(function)
    function(**arguments)
    for wrong in (math.nan, math.inf, -math.inf, "twelve"):
        with pytest.raises(OpticsError) as refused:
            function(**(arguments | {figure: wrong}))
        assert refused.value.quantity
        assert refused.value.allowed
