"""A row of the comparison says what the check says of the order with that lens, to the last digit."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from random import Random
from typing import Any

import pytest

from dispensing.trade import PracticeLimits
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder, parse_order
from orders.options.change import changed
from orders.options.lenses.comparison import LensRow, compare
from orders.rules import check
from orders.rules.case import Case
from orders.rules.examples import all_examples, clean_order, example_catalogue
from tests.orders.bad_orders import orders as bad
from tests.orders.corpus.clean_orders import catalogues
from tests.orders.corpus.clean_orders import clean_orders as drawn_orders

Drawn = tuple[str, LensOrder, Sequence[LensCatalogue], Sequence[LensOrder]]
ROWS_OF_EACH = 4


def bad_orders() -> Iterator[Drawn]:
    for written in [*bad.bad_orders()[::9], *bad.clean_orders()[::9]]:
        yield written.id, written.order, [bad.catalogue()], written.beside


def drawn_from_the_corpus() -> Iterator[Drawn]:
    for drawn in drawn_orders(seed=31, count=8):
        order = parse_order(json.dumps(drawn.document))
        yield order.number or "", order, catalogues(), ()


def examples_of_rules() -> Iterator[Drawn]:
    for example in all_examples()[::14]:
        yield f"{example.rule}: {example.says}", example.order(), [example.lens_catalogue()], example.other_orders()


@pytest.mark.parametrize("drawn", [bad_orders, drawn_from_the_corpus, examples_of_rules])
def test_rows_of_many_orders_equal_the_report_on_the_order_with_that_lens(
    drawn: Callable[[], Iterator[Drawn]],
) -> None:
    random, seen = Random(7), 0
    for name, order, offered, others in drawn():
        rows = compare(order, offered, others=others)
        for row in random.sample(rows, min(ROWS_OF_EACH, len(rows))):
            equals_the_check(name, row, others)
            seen += 1
    assert seen >= 30


def equals_the_check(
    name: str, row: LensRow, others: Sequence[LensOrder] = (), practice: PracticeLimits | None = None
) -> None:
    report = check(row.order, row.offer.catalogue, others, practice)
    said = [(part.rule, part.level, part.eye) for part in report.findings]
    assert [(part.rule, part.level, part.eye) for part in row.findings] == said, (name, row.offer.choice)
    assert row.verdict == report.verdict, (name, row.offer.choice)
    # As text, because 0.0 and −0.0 are equal and None is no figure.
    assert row.computed.model_dump_json() == report.computed.model_dump_json(), (name, row.offer.choice)


def test_the_order_of_a_row_is_the_order_with_only_that_lens_and_its_lab_changed() -> None:
    order = clean_order().model_copy(update={"lab": clean_order().lab.model_copy(update={"name": "Elsewhere"})})
    row = next(row for row in compare(order, [example_catalogue()]) if row.offer.design.kind == "single_vision")
    back = {"design": "progressive", "material": "m160", "corridor_mm": 14.0, "blank_mm": 70.0, "treatments": ("ar",)}
    assert row.order.lab.name == example_catalogue().lab
    lenses = row.order.lenses
    restored = {
        "right": lenses.right and lenses.right.model_copy(update=back),
        "left": lenses.left and lenses.left.model_copy(update=back),
    }
    as_before = row.order.model_copy(update={"lab": order.lab, "lenses": lenses.model_copy(update=restored)})
    assert as_before == order


def test_what_the_practice_tightened_or_silenced_holds_for_rows_too() -> None:
    practice = PracticeLimits({"edge-thick": {"rimmed_mm": 3.0}}, frozenset({"index-for-power"}))
    rows = compare(clean_order(), [example_catalogue()], practice_limits=practice)
    for row in rows[::5]:
        equals_the_check("practice", row, practice=practice)
    found = {finding.rule for row in rows for finding in row.findings}
    assert "edge-thick" in found
    assert "index-for-power" not in found
    assert "index-for-power" in {f.rule for row in compare(clean_order(), [example_catalogue()]) for f in row.findings}


def test_what_was_lifted_no_longer_counts_towards_a_rows_verdict() -> None:
    catalogue = example_catalogue()
    asked = next(row for row in compare(clean_order(), [catalogue]) if row.verdict == "ask")
    lifted = [{"rule": f.rule, "eye": f.eye, "reason": "Talked about.", "by": "R. Optician"} for f in asked.findings]
    order = parse_order(json.dumps({**json.loads(clean_order().model_dump_json()), "lifted": lifted}))
    row = next(r for r in compare(order, [catalogue]) if r.offer.choice == asked.offer.choice)
    assert (row.verdict, row.findings) == ("clear", asked.findings)
    equals_the_check("lifted", row)


def test_a_single_lens_is_compared_beside_the_one_that_stays() -> None:
    document = json.loads(clean_order().model_dump_json())
    document["lenses"]["left"] = None
    document["kept_lens"] = {"design": "progressive", "material": "m160", "treatments": ["ar"], "base_curve_d": 5.0}
    rows = compare(parse_order(json.dumps(document)), [example_catalogue()])
    for row in rows[::7]:
        equals_the_check("one eye", row)
    assert {row.weight_pair_g for row in rows} == {None}
    assert all(row.computed.left.power is None for row in rows[:3])


def test_an_order_without_lenses_is_compared_for_both_eyes() -> None:
    document = json.loads(clean_order().model_dump_json())
    document["lenses"] = {"right": None, "left": None}
    rows = compare(parse_order(json.dumps(document)), [example_catalogue()])
    assert len(rows) > 50
    for row in rows[::11]:
        equals_the_check("no lenses", row)
        assert row.weight_pair_g is not None or row.body("right") is None


@pytest.mark.parametrize("use", ["distance", "near", "intermediate"])
def test_what_is_made_follows_the_kind_of_each_lens(use: str) -> None:
    """A single vision lens for near has the add in its sphere and near PDs; a progressive one beside it has neither."""
    stated = {"sphere": -2.0, "cylinder": -0.75, "axis": 170}
    order = changed(clean_order(), {"use": use, "lenses.left.power": stated, "power_basis": "as_worn"})
    rows = compare(order, [example_catalogue()])
    for row in rows[::9]:
        equals_the_check(use, row)
    made = {
        (row.offer.design.kind == "single_vision", power.sphere, row.computed.right.pd_used_by)
        for row in rows
        if (power := row.computed.right.power) is not None
    }
    single = {"distance": (-2.25, "far"), "near": (-0.5, "near_computed"), "intermediate": (-1.375, "near_computed")}
    assert made == {(True, *single[use]), (False, -2.25, "far")}


UNEQUAL = {"prescription.right.sphere": -7.0, "prescription.left.sphere": -2.0}


@pytest.mark.parametrize(
    "changes",
    [
        UNEQUAL,
        {"prescription.right.sphere": -5.0, "prescription.left.sphere": -2.0},
        UNEQUAL | {"lenses.right.centre_thickness_mm": 2.4},
        UNEQUAL | {"fitting.left.vertex_mm": None},
        UNEQUAL | {"fitting.right.vertex_mm": 60.0},
        UNEQUAL | {"lenses.right.base_curve_d": 90.0},
        UNEQUAL | {"lenses.left": None},
    ],
    ids=["far apart", "apart", "thickness ordered", "no vertex", "vertex no eye has", "curve no lens has", "one lens"],
)
def test_image_sizes_of_all_rows_are_those_of_each_case_by_itself_to_the_last_bit(changes: dict[str, Any]) -> None:
    order, catalogue = changed(clean_order(), changes), example_catalogue()
    rows = compare(order, [catalogue])
    alone = [Case(row.order, row.offer.catalogue).image_sizes_differ_percent for row in rows]
    assert [row.case.image_sizes_differ_percent for row in rows] == alone
    for row in rows:
        equals_the_check(str(changes), row)
    assert any(one.rule == "image-size" for row in rows for one in row.findings)
