"""Topic 3 of the published cases: the effect of vertex distance."""

from __future__ import annotations

from typing import Any

import pytest

from dispensing.optics.power import SphereCylinder
from dispensing.optics.vertex import at_vertex, vertex_change, vertex_change_rule_of_thumb
from tests.optics.published_cases import PublishedCase, assert_reproduces, formula_cases


def computed(inputs: dict[str, Any]) -> dict[str, Any]:
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
        "F_simplified": vertex_change_rule_of_thumb(inputs["F"], closer),
        "direction": f"{'less' if abs(changed) < abs(inputs['F']) else 'more'} {kind}",
    }


@pytest.mark.parametrize("case", formula_cases(3), ids=lambda case: case.id)
def test_a_lens_moved_along_the_line_of_sight_comes_out_as_published(case: PublishedCase) -> None:
    assert_reproduces(case, computed(case.inputs))
