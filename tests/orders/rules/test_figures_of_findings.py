"""The figures that a finding gives: each example states what was found, what is allowed and in which unit."""

from __future__ import annotations

from typing import Any

import pytest

from orders.rules import check
from orders.rules.examples import Example, all_examples

TRIPPING = [example for example in all_examples() if example.level]
DECIMALS = 4


def _rounded(value: Any) -> Any:
    return round(float(value), DECIMALS) if isinstance(value, int | float) else value


@pytest.mark.parametrize("example", TRIPPING, ids=lambda example: f"{example.rule}: {example.says}")
def test_a_finding_carries_the_figures_that_it_compares(example: Example) -> None:
    report = check(example.order(), example.lens_catalogue(), example.other_orders())

    found = [
        (part.level, part.eye, _rounded(part.found), _rounded(part.limit), part.unit)
        for part in report.findings
        if part.rule == example.rule
    ]
    assert (example.level, example.eye, _rounded(example.found), _rounded(example.limit), example.unit) in found


@pytest.mark.parametrize("example", TRIPPING, ids=lambda example: f"{example.rule}: {example.says}")
def test_a_limit_is_always_named_and_a_figure_has_its_unit(example: Example) -> None:
    if isinstance(example.found, float) and isinstance(example.limit, float):
        assert example.unit or example.rule in WITHOUT_UNIT
    assert example.limit is not None


WITHOUT_UNIT = {"low-abbe", "reflections-of-high-index"}
"""An Abbe number and a refractive index have none."""
