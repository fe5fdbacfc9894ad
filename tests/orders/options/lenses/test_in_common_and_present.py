"""What every lens has in common, one row for several blanks, the lens an order has now, and what names a lens."""

from __future__ import annotations

import json
from typing import Any

import pytest

from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.documents.lens_order import LensOrder
from orders.options.change import changed
from orders.options.lenses.blanks import one_blank_each
from orders.options.lenses.comparison import LensRow, compare
from orders.options.lenses.in_common import apart
from orders.options.lenses.present import key_of, present_row
from orders.rules.check import check
from orders.rules.examples import clean_order, example_catalogue


def second_lab() -> LensCatalogue:
    return parse_catalogue(example_catalogue().model_copy(update={"lab": "Second Lab"}).model_dump_json())


def with_change(**change: Any) -> LensOrder:
    return changed(clean_order(), {path.replace("__", "."): value for path, value in change.items()})


def said_of(rows: Any) -> list[set[tuple[str, str, str | None]]]:
    return [{(one.rule, one.level, one.eye) for one in row.findings} for row in rows]


def test_what_is_found_with_every_lens_is_taken_out_of_each_and_nothing_else() -> None:
    rows = compare(with_change(supply=None), [example_catalogue(), second_lab()])
    told = apart(rows)
    common = {(one.rule, one.level, one.eye) for one in told.common}
    assert "job-complete" in {rule for rule, _, _ in common}
    assert [found | common for found in said_of(told.rows)] == said_of(rows)
    assert {row.verdict for row in rows} == {"stop"}
    clean = {row.number: row.verdict for row in compare(clean_order(), [example_catalogue()])}
    assert {row.number: row.verdict for row in told.rows if row.offer.catalogue.lab != "Second Lab"} == clean


def test_what_only_one_lab_has_against_every_lens_of_its_own_stays_with_its_lenses() -> None:
    accounts = {"Second Lab": None, clean_order().lab.name or "": clean_order().practice.account}
    told = apart(compare(clean_order(), [example_catalogue(), second_lab()], accounts=accounts))
    assert "account-and-names" not in {one.rule for one in told.common}
    with_it = {
        row.offer.catalogue.lab for row in told.rows if "account-and-names" in {one.rule for one in row.findings}
    }
    assert with_it == {"Second Lab"}


def test_one_lens_alone_keeps_what_is_said_of_it() -> None:
    rows = compare(with_change(supply=None), [example_catalogue()])[:1]
    assert apart(rows).common == ()
    assert said_of(apart(rows).rows) == said_of(rows)


def test_the_smallest_blank_that_the_check_has_least_against_stands_for_all() -> None:
    rows = compare(clean_order(), [example_catalogue()])
    kept = one_blank_each(rows)
    groups: dict[tuple[Any, ...], list[LensRow]] = {}
    for row in rows:
        groups.setdefault((row.offer.design.id, row.offer.material.id, row.offer.corridor_mm), []).append(row)
    assert len(kept) == len(groups) < len(rows)
    order = ["clear", "note", "ask", "stop"]
    for row in kept:
        alike = groups[row.offer.design.id, row.offer.material.id, row.offer.corridor_mm]
        best = min(order.index(one.verdict) for one in alike)
        assert order.index(row.verdict) == best
        assert row.offer.blank_mm == min(one.offer.blank_mm or 0.0 for one in alike if order.index(one.verdict) == best)


def test_the_present_lens_says_what_the_check_says_of_the_order() -> None:
    order, catalogue = with_change(needed_on=None), example_catalogue()
    row, report = present_row(order, catalogue), check(order, catalogue)
    assert row is not None
    assert row.verdict == report.verdict
    assert [one.rule for one in row.findings] == [one.rule for one in report.findings]
    assert row.computed == report.computed


@pytest.mark.parametrize(
    "change", [{"lenses__right__material": "m150"}, {"lenses__right__design": None, "lenses__left__design": None}]
)
def test_lenses_that_differ_or_are_not_chosen_are_no_present_lens(change: dict[str, Any]) -> None:
    assert present_row(with_change(**change), example_catalogue()) is None


def test_a_key_names_one_lens_of_one_lab_whatever_the_sequence_of_its_treatments() -> None:
    rows = compare(clean_order(), [example_catalogue(), second_lab()])
    keys = [key_of(row.offer.choice, row.offer.catalogue.lab) for row in rows]
    assert len(set(keys)) == len(keys) > 10
    lens = {"design": "a", "material": "b", "corridor_mm": None, "blank_mm": 70.0, "treatments": ("x", "y")}
    assert key_of(lens, "Lab") == key_of({**lens, "treatments": ["y", "x"]}, "Lab")
    for name, value in {
        "design": "c",
        "material": "c",
        "corridor_mm": 11.0,
        "blank_mm": 65.0,
        "treatments": ["x"],
    }.items():
        assert key_of({**lens, name: value}, "Lab") != key_of(lens, "Lab")
    assert json.dumps(keys[0]).strip('"').isalnum()
