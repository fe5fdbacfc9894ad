"""A practice may be stricter than the trade, never laxer; the data says which way stricter is, and that is true."""

from __future__ import annotations

import pytest

from orders.rules import PracticeLimits, check
from orders.rules.examples import Example, examples_of
from orders.rules.limits import data_file, trade_limits
from orders.rules.registry import rule_by_id
from orders.rules.tightening import TradeLimit, limit_named, limits_of

ADJUSTABLE = [limit for rule in data_file("tighter") for limit in limits_of(rule) if limit.stricter]


def findings(example: Example, limit: TradeLimit, value: float | None) -> int:
    practice = PracticeLimits({limit.rule: {limit.name: value}} if value is not None else {})
    report = check(example.order(), example.lens_catalogue(), example.other_orders(), practice)
    return sum(part.rule == limit.rule for part in report.findings)


def a_little(limit: TradeLimit, *, stricter: bool) -> float:
    up = (limit.stricter == "higher") == stricter
    return limit.value + (0.1 if up else -0.1) * (abs(limit.value) or 1.0)


@pytest.mark.parametrize("limit", ADJUSTABLE, ids=lambda limit: f"{limit.rule} {limit.name}")
def test_a_stricter_limit_never_silences_what_the_trades_limit_finds(limit: TradeLimit):
    for example in examples_of(limit.rule):
        assert findings(example, limit, a_little(limit, stricter=True)) >= findings(example, limit, None)


@pytest.mark.parametrize("limit", ADJUSTABLE, ids=lambda limit: f"{limit.rule} {limit.name}")
def test_a_limit_on_the_other_side_would_find_no_more(limit: TradeLimit):
    for example in examples_of(limit.rule):
        assert findings(example, limit, a_little(limit, stricter=False)) <= findings(example, limit, None)


@pytest.mark.parametrize("rule", list(data_file("tighter")))
def test_every_figure_that_may_be_tightened_is_a_figure_of_a_rule(rule: str):
    assert rule_by_id(rule) is not None
    assert set(data_file("tighter")[rule]) <= {limit.name for limit in limits_of(rule)}
    assert set(data_file("tighter")[rule].values()) <= {"lower", "higher"}


def test_only_the_stricter_side_is_allowed():
    decentration = limit_named("decentration", "in_max_mm")
    assert decentration is not None
    assert decentration.allows(3.0)
    assert not decentration.allows(4.0)
    assert not decentration.allows(5.0)
    assert not decentration.allows(-1.0)


def test_a_minus_limit_is_stricter_when_nearer_to_nought():
    wrap = limit_named("wrap-range", "least_d")
    assert wrap is not None
    assert wrap.allows(-3.0)
    assert not wrap.allows(-5.0)
    assert not wrap.allows(1.0)


def test_a_fixed_limit_allows_nothing():
    step = limit_named("add-range", "step_d")
    assert step is not None
    assert not step.allows(0.125)


def test_a_limit_is_written_in_the_words_and_units_of_the_trade():
    shown = {
        (limit.label, limit.written())
        for rule in ("box-sane", "pantoscopic-band", "glass")
        for limit in limits_of(rule)
    }
    assert {("A, from", "35 mm"), ("DBL, to", "26 mm"), ("To", "18°")} <= shown
    assert ("Glass has a density from", "2.3 g/cm³") in shown


def test_every_limit_has_its_words_and_no_words_are_left_over():
    named = {rule: set(trade_limits(rule)) for rule in data_file("limits")}
    assert {rule: set(table) for rule, table in data_file("limit_words").items()} == named


def test_an_eighth_is_written_whole():
    fine = limit_named("power-step-and-range", "fine_step_d")
    assert fine is not None
    assert fine.written() == "0.125 D"


def test_a_rule_without_figures_has_none():
    assert limits_of("sphere-blank") == ()
    assert limit_named("sphere-blank", "power_d") is None


def test_what_stricter_means_shows_in_what_is_found():
    # A frame 3.5 mm too wide passes the trade's 4 mm and not the practice's 3.
    passing = next(e for e in examples_of("decentration") if e.kind == "passes")
    limit = limit_named("decentration", "in_max_mm")
    assert limit is not None
    assert findings(passing, limit, None) == 0
    assert findings(passing, limit, 0.5) > 0
