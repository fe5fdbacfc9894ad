"""Any number given to a public function may be wrong; each wrong one is refused with the one error.

Warnings are errors in this project, so that a function that lets numpy warn of an overflow fails here too.
"""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from dispensing.optics import (
    base_curve,
    blank,
    centration,
    chromatic,
    circles,
    conventions,
    cutout,
    fitting_height,
    imbalance,
    lens_batches,
    lens_body,
    magnification,
    notation,
    oblique_lens,
    power,
    power_vector,
    prism,
    rounding,
    shape_families,
    surface,
    tilt,
    traced_prism,
    vertex,
)
from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism

MODULES = (
    base_curve,
    blank,
    centration,
    chromatic,
    circles,
    conventions,
    cutout,
    fitting_height,
    imbalance,
    lens_batches,
    lens_body,
    magnification,
    notation,
    oblique_lens,
    power,
    power_vector,
    prism,
    rounding,
    shape_families,
    surface,
    tilt,
    traced_prism,
    vertex,
)
SHAPE = shape_families.assumed_shape(52.0, 38.0, 55.0)

# One believable value for every name of an argument in the core; a new name fails until it is added here.
BELIEVABLE: dict[str, Any] = {
    "to_mm": 14.0,
    "x_mm": 3.0,
    "y_mm": -6.0,
    "clear_radius_mm": 4.0,
    "shared_above_pd": 6.0,
    "inside_mm": 2.0,
    "near_zone_radius_mm": 4.0,
    "a_mm": 52.0,
    "abbe": 40.0,
    "add_d": 2.0,
    "allowance_mm": 1.0,
    "along_flat_sq": 100.0,
    "along_steep_sq": 100.0,
    "axis_deg": 170.0,
    "axis_error_deg": 3.0,
    "b_mm": 38.0,
    "base_curve_d": 5.0,
    "centre_in_mm": 1.0,
    "centre_thickness_mm": 2.0,
    "centre_up_mm": 1.0,
    "closer_by_mm": 2.0,
    "corridor_mm": 14.0,
    "cos_incidence": 0.99,
    "cross_above_prism_point_mm": 4.0,
    "cross_in_mm": 3.5,
    "cross_up_mm": 2.0,
    "curvature": 0.01,
    "curve_d": 5.0,
    "cylinder": -1.0,
    "cylinder_d": -1.0,
    "dbl_mm": 18.0,
    "decentration_in_mm": 3.5,
    "decentration_up_mm": 2.0,
    "density_g_cm3": 1.3,
    "distance_squared": 400.0,
    "ed_mm": 55.0,
    "eye_distance_mm": 12.0,
    "face_form_deg": 5.0,
    "far_pd_mm": 32.0,
    "first_deg": 170.0,
    "flat": 0.01,
    "found": 1.0,
    "frame_pd_mm": 70.0,
    "from_mm": 4.0,
    "front_curvature": 0.0094,
    "front_curve_d": 5.0,
    "front_d": 5.0,
    "front_power_d": 6.0,
    "height_mm": 21.0,
    "horizontal_power_d": -3.0,
    "in_mm": 2.0,
    "index": 1.6,
    "j0": 0.2,
    "j45": -0.1,
    "left_inset_mm": 2.0,
    "level_mm": 10.0,
    "limit": 2.0,
    "m": -3.0,
    "marked_index": 1.523,
    "mean_sphere": -3.0,
    "meridian_deg": 30.0,
    "min_centre_mm": 1.5,
    "min_edge_mm": 1.0,
    "mono_pd_mm": 32.0,
    "moved_in_mm": 2.0,
    "moved_up_mm": 2.0,
    "moved_by_mm": 2.0,
    "near_inset_mm": 2.5,
    "ordered_d": 5.0,
    "ordered_mm": 70.0,
    "pantoscopic_deg": 9.0,
    "pd_mm": 32.0,
    "power_d": -3.0,
    "prism_in_pd": 1.0,
    "prism_up_pd": -0.5,
    "prism_in": 1.0,
    "prism_pd": 1.0,
    "prism_point_in_up_mm": (3.5, 2.0),
    "prism_up": 1.0,
    "radius_mm": 20.0,
    "reference_in_mm": 3.5,
    "reference_in_up_mm": (3.5, 2.0),
    "reference_up_mm": 2.0,
    "right_inset_mm": 2.0,
    "second_deg": 10.0,
    "sphere": -3.0,
    "sphere_d": -3.0,
    "steep": 0.012,
    "step": 0.25,
    "tested_mm": 12.0,
    "tested_vertex_mm": 12.0,
    "thickness_mm": 2.0,
    "up_mm": 2.0,
    "value": 1.3,
    "vertex_mm": 13.0,
    "window_mm": 10.0,
    "working_distance_mm": 400.0,
    "worn_mm": 13.0,
    "worn_vertex_mm": 13.0,
    "x": 1.0,
    "x_in_mm": 2.0,
    "y": 1.0,
    "y_up_mm": -8.0,
}
OTHERS: dict[str, Any] = {
    "ToricBack": surface.toric_back(SphereCylinder(-3.0, -1.0, 170.0), 5.0, 2.0, 1.6),
    "SphereCylinder": SphereCylinder(-3.25, -1.0, 170.0),
    "Prism": Prism(1.0, 0.5),
    "VerticalImbalance": imbalance.VerticalImbalance(1.0, -0.5),
    "MagnifyingLens": magnification.MagnifyingLens(4.0, 8.0, 4.0, 1.5, 12.0),
    "Eye": "right",
    "LensShape": SHAPE,
    "LensShape | Sequence[LensShape]": SHAPE,
    "Blank": blank.Blank(70.0),
    "Sequence[Blank]": [blank.Blank(70.0)],
    "Sequence[BaseCurveRow]": [base_curve.BaseCurveRow(-4.0, 4.0, 5.0)],
    "Circle": circles.Circle(1.0, 2.0, 20.0),
    "FloatArray": SHAPE.points(),
}
# Take no figures of their own, or text.
FIGURELESS = {
    "parse_power",
    "parse_add",
    "parse_axis",
    "parse_noted_axis",
    "parse_prescription_line",
    "parse_prescription",
    "eyes_named",
    "is_known_word",
    "require_eye",
    "resultant",
}


def public_functions(module: ModuleType) -> Iterator[Callable[..., Any]]:
    for name, found in inspect.getmembers(module, inspect.isfunction):
        if found.__module__ == module.__name__ and not name.startswith("_") and name not in FIGURELESS:
            yield found
    kept = (found for _, found in inspect.getmembers(module, lambda member: hasattr(member, "cache_info")))
    yield from (found for found in kept if found.__module__ == module.__name__)


def believable_call(function: Callable[..., Any]) -> tuple[dict[str, Any], dict[str, bool]]:
    """Keyword arguments that work, and the names of those that are figures: whether they may be None."""
    arguments: dict[str, Any] = {}
    figures = {}
    for name, parameter in inspect.signature(function).parameters.items():
        kind = str(parameter.annotation)
        if "float" in kind or "ArrayLike" in kind or name in BELIEVABLE:
            arguments[name] = BELIEVABLE[name]
            figures[name] = "None" in kind
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


def in_place_of(right: Any, wrong: Any) -> Any:
    """The wrong figure; of a pair of places, the second one is wrong."""
    return (right[0], wrong) if isinstance(right, tuple) else wrong


def every_figure_of(result: Any) -> Iterator[float]:
    """All numbers that a result holds, however it is wrapped."""
    if is_dataclass(result):
        result = [getattr(result, field.name) for field in fields(result)]
    if isinstance(result, float | np.ndarray):
        yield from np.asarray(result, dtype=np.float64).ravel().tolist()
    elif isinstance(result, tuple | list):
        for part in result:
            yield from every_figure_of(part)


@pytest.mark.parametrize(("function", "figure"), list(cases()))
def test_a_figure_that_is_no_number_is_refused(function: Callable[..., Any], figure: str) -> None:
    arguments, figures = believable_call(function)
    assert all(map(math.isfinite, every_figure_of(function(**arguments))))
    for wrong in (math.nan, math.inf, -math.inf, "twelve") + (() if figures[figure] else (None,)):
        with pytest.raises(OpticsError) as refused:
            function(**(arguments | {figure: in_place_of(arguments[figure], wrong)}))
        assert refused.value.quantity
        assert refused.value.allowed


@pytest.mark.parametrize(("function", "figure"), list(cases()))
def test_a_figure_beyond_all_sense_is_refused_or_gives_finite_figures(
    function: Callable[..., Any], figure: str
) -> None:
    arguments, _ = believable_call(function)
    for wrong in (0.0, -7.5, 1e-300, 1e20, 1e300, -1e300, 10**400):
        try:
            result = function(**(arguments | {figure: in_place_of(arguments[figure], wrong)}))
        except OpticsError:
            continue
        assert all(map(math.isfinite, every_figure_of(result))), wrong


A_LENS = lens_body.lens_body(
    SHAPE,
    SphereCylinder(-3.25, -1.0, 170.0),
    index=1.6,
    density_g_cm3=1.3,
    front_curve_d=5.0,
    min_centre_mm=1.5,
    min_edge_mm=1.0,
)


@pytest.mark.parametrize("wrong", [math.nan, math.inf, "twelve", None, [1.0, math.nan], 1e300])
@pytest.mark.parametrize(
    "read_off",
    [
        A_LENS.thickness_at,
        A_LENS.back.sag_at,
        SHAPE.contains,
        SHAPE.nearest_edge_distance,
        lambda across, _: SHAPE.heights_at(across),
        lambda across, _: A_LENS.power.power_along(across),
    ],
    ids=["thickness", "sag", "contains", "distance", "heights", "power"],
)
def test_no_figure_is_read_off_at_a_place_that_is_none(read_off: Callable[[Any, Any], Any], wrong: Any) -> None:
    assert all(map(math.isfinite, every_figure_of(read_off(2.0, -3.0))))
    try:
        found = read_off(wrong, -3.0)
    except OpticsError:
        return
    # Far off there is still an inside and an outside, and every angle has its meridian.
    assert wrong == 1e300
    assert all(map(math.isfinite, every_figure_of(found)))
