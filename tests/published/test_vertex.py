"""Topic 3 of the published cases: the effect of vertex distance."""

from __future__ import annotations

import math
from typing import Any

from dispensing.optics.power import SphereCylinder
from dispensing.optics.vertex import at_vertex, vertex_change, vertex_effect
from tests.published.rows import PublishedCase, assert_reproduces, published, worked


def near_power(inputs: dict[str, Any]) -> dict[str, Any]:
    """Both distances run from the eye, so both vergences are carried to the spectacle plane; the lens makes the one of
    the other."""
    image, object_ = (
        vertex_change(-1000.0 / inputs[name], -inputs["vertex_mm"]) for name in ("near_point_mm", "object_mm")
    )
    return {"near_spectacle_power": image - object_}


def computed(inputs: dict[str, Any]) -> dict[str, Any]:
    if "near_point_mm" in inputs:
        return near_power(inputs)
    if "power_at_cornea" in inputs:
        return {"spectacle_power": vertex_change(inputs["power_at_cornea"], -inputs["vertex_mm"])}
    if "sep_cm" in inputs:
        reaching_second = vertex_change(inputs["F1"], 10.0 * inputs["sep_cm"])
        return {"vergence": reaching_second + inputs["F2"]}
    if "S" in inputs:
        power = SphereCylinder(inputs["S"], inputs["C"], inputs["axis"])
        moved = at_vertex(power, inputs["from_mm"], inputs["to_mm"])
        return {"S": moved.sphere, "C": moved.cylinder}
    if "from_mm" in inputs:
        closer = inputs["from_mm"] - inputs["to_mm"]
    else:
        closer = -inputs["moved_forward_mm"] if "moved_forward_mm" in inputs else 1000.0 * inputs["x_m"]
    changed = vertex_change(inputs["F"], closer)
    kind = "plus" if inputs["F"] > 0 else "minus"
    return {
        "F": changed,
        "F_simplified": inputs["F"] + math.copysign(vertex_effect(inputs["F"], closer), closer),
        "direction": f"{'less' if abs(changed) < abs(inputs['F']) else 'more'} {kind}",
    }


@published(worked(3))
def test_a_lens_moved_along_the_line_of_sight_comes_out_as_published(case: PublishedCase) -> None:
    assert_reproduces(case, computed(case.inputs))
