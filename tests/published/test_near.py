"""Topic 5 of the published cases: near centration distance and inset."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from dispensing.optics.centration import near_inset, near_pd
from tests.optics.handbook import near_inset_three_quarters, near_pd_fixed_rule
from tests.published.rows import PublishedCase, assert_reproduces, by_id, published, worked

Inputs = dict[str, Any]


def table_row(inputs: Inputs) -> dict[str, Any]:
    assert inputs["F"] == 0
    assert inputs["stop_mm"] == 27
    near = [near_pd(inputs["pd"], work, None, 0.0) for work in inputs["work_mm"]]
    return {"near_pd": near, "inset_each_40cm": near_inset(inputs["pd"], 400.0, None, 0.0) / 2.0}


def usual_difference(inputs: Inputs) -> dict[str, Any]:
    """The row names no PD; its note says 63."""
    inset = near_inset(63.0, inputs["work_mm"], None, 0.0)
    return {"pd_minus_npd": inset, "inset_each": inset / 2.0}


def inset_of_a_minus_lens(inputs: Inputs) -> dict[str, Any]:
    plano = near_inset(inputs["pd"], inputs["work_mm"], None, 0.0)
    worn = near_inset(inputs["pd"], inputs["work_mm"], None, inputs["F"])
    return {"inset_diff_vs_plano": (plano - worn) / 2.0}


def decrement_at_other_pds(inputs: Inputs) -> dict[str, Any]:
    """The working distance is not stated, so it is the one that gives the middle row; the others follow."""
    low, middle, high = inputs["far_pd"]
    given = inputs["decrement_at_63_mm"]
    work = next(mm for mm in range(250, 600) if near_inset(middle, mm, None, 0.0) <= given)
    found = {pd: near_inset(pd, work, None, 0.0) for pd in (low, high)}
    return {f"decrement_at_{pd}_mm": inset for pd, inset in found.items()}


COMPUTED: dict[str, Callable[[Inputs], dict[str, Any]]] = {
    "NP-01": lambda i: {"near_pd": near_pd(i["pd"], i["work_mm"], None, i["F"])},
    "NP-04": usual_difference,
    "NP-05": lambda i: {"rule_near": near_pd_fixed_rule(i["pd"])},
    "NP-06": lambda i: {"exact_near": near_pd(i["pd"], 400.0, None, 0.0)},
    "NP-08": lambda i: {"exact_near": near_pd(i["pd"], 400.0, None, 0.0)},
    "NP-09": lambda i: {"near": [near_pd_fixed_rule(mono, binocular=False) for mono in i["mono"]]},
    "NP-12": lambda i: {"inset_each": near_inset_three_quarters(i["demand_D"])},
    "HB-090": decrement_at_other_pds,
    "NP-13": inset_of_a_minus_lens,
}


@published(worked(5))
def test_near_centration_comes_out_as_published(case: PublishedCase) -> None:
    compute = table_row if case.id.startswith("NPT") else COMPUTED[case.id]
    assert_reproduces(case, compute(case.inputs))


@published(by_id("NP-05", "NP-09"))
def test_the_computed_near_pd_is_within_a_millimetre_and_a_half_of_the_counter_rule(case: PublishedCase) -> None:
    given = case.inputs
    far = given["mono"] if "mono" in given else [given["pd"]]
    rule = case.expected["near"] if "near" in case.expected else [case.expected["rule_near"]]
    computed = [near_pd(pd, 400.0, None, 0.0) for pd in far]
    assert computed == pytest.approx(rule, abs=1.5)


@published(by_id("NP-12"))
def test_the_computed_inset_is_within_a_third_of_a_millimetre_of_the_three_quarter_rule(case: PublishedCase) -> None:
    demand = case.inputs["demand_D"]
    assert near_inset(31.5, 1000.0 / demand, None, 0.0) == pytest.approx(case.expected["inset_each"], abs=1.0 / 3.0)
