"""A practice may be stricter than the trade, never laxer; the data says which way is stricter, and is right."""

from __future__ import annotations

import pytest

from dispensing.trade.facts import Fact, fact_named, facts_of, subjects
from orders.rules import PracticeLimits, check
from orders.rules.examples import Example, examples_of
from orders.rules.registry import rule_by_id

ADJUSTABLE = [fact for subject in subjects().values() for fact in subject.facts if fact.stricter]


def findings(example: Example, limit: Fact, value: float | None) -> int:
    practice = PracticeLimits({limit.subject: {limit.name: value}} if value is not None else {})
    report = check(example.order(), example.lens_catalogue(), example.other_orders(), practice)
    return sum(part.rule == limit.subject for part in report.findings)


def a_little(limit: Fact, *, stricter: bool) -> float:
    up = (limit.stricter == "higher") == stricter
    return limit.value + (0.1 if up else -0.1) * (abs(limit.value) or 1.0)


@pytest.mark.parametrize("limit", ADJUSTABLE, ids=lambda limit: f"{limit.subject} {limit.name}")
def test_a_stricter_limit_never_silences_what_the_trades_limit_finds(limit: Fact) -> None:
    for example in examples_of(limit.subject):
        assert findings(example, limit, a_little(limit, stricter=True)) >= findings(example, limit, None)


@pytest.mark.parametrize("limit", ADJUSTABLE, ids=lambda limit: f"{limit.subject} {limit.name}")
def test_a_limit_on_the_other_side_would_find_no_more(limit: Fact) -> None:
    for example in examples_of(limit.subject):
        assert findings(example, limit, a_little(limit, stricter=False)) <= findings(example, limit, None)


@pytest.mark.parametrize("limit", ADJUSTABLE, ids=lambda limit: f"{limit.subject} {limit.name}")
def test_only_a_rule_has_figures_that_may_be_tightened(limit: Fact) -> None:
    assert rule_by_id(limit.subject) is not None


def test_only_the_stricter_side_is_allowed() -> None:
    decentration = fact_named("decentration", "in_max_mm")
    assert decentration is not None
    assert decentration.allows(3.0)
    assert not decentration.allows(4.0)
    assert not decentration.allows(5.0)
    assert not decentration.allows(-1.0)


def test_a_minus_limit_is_stricter_when_nearer_to_nought() -> None:
    wrap = fact_named("wrap-range", "least_d")
    assert wrap is not None
    assert wrap.allows(-3.0)
    assert not wrap.allows(-5.0)
    assert not wrap.allows(1.0)


def test_a_fixed_limit_allows_nothing() -> None:
    step = fact_named("add-range", "step_d")
    assert step is not None
    assert not step.allows(0.125)


def test_a_rule_without_figures_has_none() -> None:
    assert facts_of("sphere-blank") == ()
    assert fact_named("sphere-blank", "power_d") is None


def test_what_stricter_means_shows_in_what_is_found() -> None:
    # A frame 3.5 mm too wide passes the trade's 4 mm and not the practice's 3.
    passing = next(e for e in examples_of("decentration") if e.kind == "passes")
    limit = fact_named("decentration", "in_max_mm")
    assert limit is not None
    assert findings(passing, limit, None) == 0
    assert findings(passing, limit, 0.5) > 0
