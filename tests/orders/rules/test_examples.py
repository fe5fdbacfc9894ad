"""Every rule is tried on its example orders, with the promises that hold for all of them."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from orders.documents.order_report import FindingPart, OrderReport
from orders.rules import check
from orders.rules.examples import FAMILIES, Example, all_examples, clean_order, example_catalogue, examples_of
from orders.rules.registry import Rule, all_rules, rule_by_id
from tests.known import there


def report_on(example: Example) -> OrderReport:
    return check(example.order(), example.lens_catalogue(), example.other_orders())


def findings_of(report: OrderReport, rule: str) -> list[FindingPart]:
    return [finding for finding in report.findings if finding.rule == rule]


@pytest.mark.parametrize("example", all_examples(), ids=lambda example: f"{example.rule}: {example.says}")
def test_the_rule_says_of_the_example_what_it_should(example: Example) -> None:
    found = findings_of(report_on(example), example.rule)

    if example.level is None:
        assert found == []
    else:
        assert (example.level, example.eye) in [(finding.level, finding.eye) for finding in found]


@pytest.mark.parametrize("example", [e for e in all_examples() if e.level], ids=lambda e: f"{e.rule}: {e.says}")
def test_a_finding_explains_itself_in_plain_words(example: Example) -> None:
    for finding in findings_of(report_on(example), example.rule):
        assert finding.title == there(rule_by_id(example.rule)).title
        assert len(finding.message) > 40
        assert finding.remedies
        assert finding.source
        assert finding.field is not None
        assert "None" not in finding.message
        assert "_" not in finding.message


@pytest.mark.parametrize("example", [e for e in all_examples() if e.level], ids=lambda e: f"{e.rule}: {e.says}")
def test_what_was_found_and_what_to_do_about_it_are_said_apart(example: Example) -> None:
    for finding in findings_of(report_on(example), example.rule):
        for part in (finding.says, finding.advice):
            assert re.fullmatch(r"[A-Z0-9].*[.?]", part), part
        assert "?" not in finding.says
        assert finding.message == f"{finding.says} {finding.advice}"


@pytest.mark.parametrize("rule", all_rules(), ids=lambda rule: rule.id)
def test_a_rule_has_an_example_that_trips_it_one_that_does_not_and_one_without_the_facts(rule: Rule) -> None:
    assert {example.kind for example in examples_of(rule.id)} == {"trips", "passes", "absent"}


@pytest.mark.parametrize("rule", all_rules(), ids=lambda rule: rule.id)
def test_an_example_trips_a_rule_at_each_of_its_levels(rule: Rule) -> None:
    assert set(rule.levels) == {example.level for example in examples_of(rule.id) if example.level}


def test_every_example_is_of_a_known_rule() -> None:
    assert {example.rule for example in all_examples()} <= {rule.id for rule in all_rules()}


@pytest.mark.parametrize("path", sorted(FAMILIES.glob("*.toml")), ids=lambda path: path.stem)
def test_the_examples_of_a_rule_stand_beside_its_family(path: Path) -> None:
    named = {case["rule"] for case in tomllib.loads(path.read_text(encoding="utf-8"))["case"]}

    assert named == {rule.id for rule in all_rules() if rule.judge.__module__ == f"orders.rules.families.{path.stem}"}


def test_nothing_is_found_in_the_clean_order_that_all_examples_start_from() -> None:
    report = check(clean_order(), example_catalogue())

    assert [finding.message for finding in report.findings] == []
    assert report.verdict == "clear"
