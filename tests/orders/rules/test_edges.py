"""Each limit of the trade is tried just within, on and just beyond it, and no figure of the table is left out."""

from __future__ import annotations

from typing import Any

import pytest

from dispensing.trade.facts import fact_named, facts_of, figure
from orders.rules import PracticeLimits, check
from orders.rules.examples import Example, examples_of
from orders.rules.registry import all_rules
from tests.orders.rules.edges import ABOVE, EDGES, FROM, Edge


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


@pytest.mark.parametrize("edge", EDGES, ids=str)
def test_the_stricter_side_of_a_limit_is_the_one_on_which_the_rule_speaks_more_often(edge: Edge) -> None:
    fact = fact_named(edge.rule, edge.limit)
    assert fact is not None
    assert fact.stricter in (None, "lower" if edge.speaks in (ABOVE, FROM) else "higher")


BESIDE_THE_CHECK = {
    ("blank-size", "edging_mm"): 1.0,
    ("clearance-above", "either_side_mm"): 10.0,
    ("face-form-band", "usual_most_deg"): 10.0,
    ("face-form-band", "wrap_least_deg"): 13.0,
    ("face-form-band", "wrap_most_deg"): 23.0,
    ("frame-depth", "wanted_least_mm"): 28.0,
    ("frame-depth", "wanted_most_mm"): 30.0,
    ("optical-centre-drop", "a_degree_mm"): 0.5,
    ("pantoscopic-band", "usual_least_deg"): 7.0,
    ("pantoscopic-band", "usual_most_deg"): 12.0,
    ("two-readings", "heights_apart_mm"): 1.0,
    ("vertical-imbalance", "below_mm"): 10.0,
    ("whole-millimetres", "step_mm"): 0.5,
}
"""Figures that no finding turns on: hints, optics and words read them. The published value, written down once more."""

FIGURES = [
    (fact.subject, fact.name, fact.value)
    for rule in all_rules()
    for fact in facts_of(rule.id)
    if (fact.subject, fact.name) not in BESIDE_THE_CHECK
]
WHOLE = ("years", "days", "readings")
"""Units in which only whole figures make sense."""


@pytest.mark.parametrize("factor", [0.9, 1.1], ids=["lower", "higher"])
@pytest.mark.parametrize(("rule", "name", "value"), FIGURES)
def test_a_figure_that_moves_by_a_tenth_is_noticed(rule: str, name: str, value: float, factor: float) -> None:
    """By an order at its edge, or by one of the rule's examples, which the tests beside this one judge as they do here.

    A limit that is added to the table asks for a row in EDGES here.
    """
    limits = PracticeLimits({rule: {name: moved(name, value, factor)}})
    noticed = any(wrong_at(edge, limits) for edge in EDGES if edge.rule == rule)
    assert noticed or any(is_judged_otherwise(example, limits) for example in examples_of(rule))


@pytest.mark.parametrize(("rule", "name"), BESIDE_THE_CHECK, ids=str)
def test_a_figure_that_no_finding_turns_on_is_the_published_one(rule: str, name: str) -> None:
    assert figure(rule, name) == BESIDE_THE_CHECK[rule, name]


@pytest.mark.parametrize("edge", EDGES, ids=str)
def test_the_table_has_the_published_figure(edge: Edge) -> None:
    assert figure(edge.rule, edge.limit) == edge.value


def moved(name: str, value: float, factor: float) -> float:
    """A tenth on, a whole figure by one at least, and 0 by a tenth of one."""
    if value == 0.0:
        return factor - 1.0
    if name.endswith(WHOLE):
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
