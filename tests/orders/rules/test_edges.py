"""Each limit of the trade tried just within, on and just beyond it; and no figure of the table escapes."""

from __future__ import annotations

from typing import Any

import pytest
from orders.rules.tightening import limits_of

from orders.rules import PracticeLimits, check
from orders.rules.examples import Example, examples_of
from orders.rules.registry import all_rules
from tests.orders.rules.edges import EDGES, Edge


def speaks(edge: Edge, quantity: float, limits: PracticeLimits | None = None) -> bool:
    example = edge.order(quantity)
    report = check(example.order(), example.lens_catalogue(), example.other_orders(), limits)
    return any(
        (part.rule, part.level, part.eye) == (edge.rule, edge.level, edge.eye) and edge.says in part.message
        for part in report.findings
    )


def wrong_at(edge: Edge, limits: PracticeLimits | None = None) -> list[float]:
    """The quantities at which the rule speaks though it should not, or does not though it should."""
    return [quantity for quantity, wanted in edge.sides() if speaks(edge, quantity, limits) is not wanted]


@pytest.mark.parametrize("edge", EDGES, ids=str)
def test_a_rule_speaks_on_one_side_of_its_limit_only(edge: Edge) -> None:
    assert wrong_at(edge) == []


FIGURES = [(limit.rule, limit.name, limit.value) for rule in all_rules() for limit in limits_of(rule.id)]


@pytest.mark.parametrize("factor", [0.9, 1.1], ids=["lower", "higher"])
@pytest.mark.parametrize(("rule", "name", "value"), FIGURES)
def test_a_figure_that_moves_by_a_tenth_is_noticed(rule: str, name: str, value: float, factor: float) -> None:
    """By an order at its edge, or by one of the rule's examples, which the tests beside this one judge as they do here.

    A limit that is added to the table asks for a row in EDGES here.
    """
    limits = PracticeLimits({rule: {name: moved(value, factor)}})
    noticed = any(wrong_at(edge, limits) for edge in EDGES if edge.rule == rule)
    assert noticed or any(is_judged_otherwise(example, limits) for example in examples_of(rule))


def moved(value: float, factor: float) -> float:
    """A tenth on, a whole figure by one at least, and 0 by a tenth of one."""
    if value == 0.0:
        return factor - 1.0
    if value == round(value) and abs(value) < 100.0 and isinstance(value, int):
        return value + (1 if factor > 1.0 else -1) * max(1, round(abs(value) / 10.0))
    return value * factor


def is_judged_otherwise(example: Example, limits: PracticeLimits) -> bool:
    report = check(example.order(), example.lens_catalogue(), example.other_orders(), limits)
    found = [
        (part.level, part.eye, rounded(part.found), rounded(part.limit), part.unit)
        for part in report.findings
        if part.rule == example.rule
    ]
    if example.level is None:
        return bool(found)
    return (example.level, example.eye, rounded(example.found), rounded(example.limit), example.unit) not in found


def rounded(value: Any) -> Any:
    return round(float(value), 4) if isinstance(value, int | float) else value
