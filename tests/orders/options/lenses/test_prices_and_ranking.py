"""Prices by the row that says most, and rows in order of a figure as it is shown."""

from __future__ import annotations

import json
from typing import Any

import pytest

from orders.catalogues.faults import faults_in
from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.options.lenses.comparison import LensRow, compare
from orders.options.lenses.ranking import FIGURES, counts, left_by, ranked
from orders.rules.examples import HERE, clean_order, example_catalogue


def priced(*prices: dict[str, Any], lab: str = "Example Lab") -> LensCatalogue:
    document = json.loads((HERE / "catalogue.json").read_text(encoding="utf-8"))
    return parse_catalogue(json.dumps({**document, "lab": lab, "prices": list(prices)}))


def price(amount: float | None, currency: str | None = "EUR", **of: str) -> dict[str, Any]:
    return {"amount": amount, "currency": currency, **of}


def of(rows: tuple[LensRow, ...], design: str, material: str) -> LensRow:
    return next(row for row in rows if (row.offer.design.id, row.offer.material.id) == (design, material))


def amounts(*prices: dict[str, Any]) -> dict[str, float | None]:
    rows = compare(clean_order(), [priced(*prices)])
    chosen = {name: of(rows, *name.split()) for name in ("progressive m160", "progressive m150", "single m160")}
    return {name: None if row.price is None else row.price.amount for name, row in chosen.items()}


def test_the_price_that_names_most_of_a_lens_is_its_price() -> None:
    any_lens, design = price(50), price(200, design="progressive")
    both, coated = price(260, design="progressive", material="m160"), price(90, material="m160", treatment="ar")
    assert amounts(any_lens) == {"progressive m160": 50, "progressive m150": 50, "single m160": 50}
    assert amounts(any_lens, design) == {"progressive m160": 200, "progressive m150": 200, "single m160": 50}
    assert amounts(both, any_lens, design) == {"progressive m160": 260, "progressive m150": 200, "single m160": 50}
    assert amounts(coated) == {"progressive m160": 90, "progressive m150": None, "single m160": 90}


@pytest.mark.parametrize("row", [price(None), price(10, None), price(10, ""), price(-1), price(10, treatment="hard")])
def test_a_price_that_is_none_or_of_another_lens_is_no_price_and_never_zero(row: dict[str, Any]) -> None:
    assert set(amounts(row).values()) == {None}


def test_two_prices_that_suit_a_lens_equally_are_no_price_and_said_to_be_so() -> None:
    rows = compare(clean_order(), [priced(price(200, design="progressive"), price(90, material="m160"))])
    row = of(rows, "progressive", "m160")
    assert row.price is None
    assert "Two prices of the catalogue suit it equally well." in [one.why for one in row.unknown]
    same = compare(clean_order(), [priced(price(90, design="progressive"), price(90, material="m160"))])
    assert of(same, "progressive", "m160").document().price is not None


def test_a_price_of_a_lens_that_the_catalogue_lacks_is_a_fault_of_the_catalogue() -> None:
    found = faults_in(priced(price(1, design="progressive"), price(1, design="nowhere", treatment="gold")))
    assert [str(fault) for fault in found] == [
        '$.prices[1].design: there is no design "nowhere" in this catalogue',
        '$.prices[1].treatment: there is no treatment "gold" in this catalogue',
    ]


def test_rows_that_read_alike_are_ties_and_keep_their_sequence() -> None:
    rows = compare(clean_order(), [example_catalogue()])
    order = ranked(rows, "weight")
    shown = [round(one.row.weight_pair_g or 0.0, 1) for one in order]
    assert shown == sorted(shown)
    for place, one in enumerate(order, start=1):
        alike = [number for number, value in enumerate(shown, start=1) if value == shown[place - 1]]
        assert (one.place, one.is_tied) == (alike[0], len(alike) > 1)
        assert [other.row.number for other in order[alike[0] - 1 : alike[-1]]] == sorted(
            other.row.number for other in order[alike[0] - 1 : alike[-1]]
        )
    assert {one.is_tied for one in order} == {True}


@pytest.mark.parametrize("by", FIGURES)
def test_the_other_way_round_every_figure_is_the_greatest_first_and_ties_still_keep_their_sequence(by: str) -> None:
    rows = compare(clean_order(), [priced(price(10), price(20, design="progressive"))])
    up, down = ranked(rows, by), ranked(rows, by, greatest_first=True)
    values = [FIGURES[by](one.row) for one in down]
    assert values == sorted(values, key=lambda value: value or 0.0, reverse=True)
    assert {one.row.number for one in up} == {one.row.number for one in down} == set(range(len(rows)))
    last = [one.row.number for one in down if FIGURES[by](one.row) == values[-1]]
    assert last == sorted(last)


def test_the_best_verdict_comes_first() -> None:
    order = ranked(compare(clean_order(), [example_catalogue()]), "verdict")
    assert order[0].row.verdict == "clear"
    assert order[-1].row.verdict == "stop"


def test_prices_in_another_currency_are_not_compared() -> None:
    rows = compare(
        clean_order(), [priced(price(10)), priced(price(1, "USD"), price(2, "USD", design="single"), lab="Far")]
    )
    far = [one for one in ranked(rows[: len(rows) // 2 + 3], "price") if one.row.offer.catalogue.lab == "Far"]
    assert len(far) == 3
    assert {one.place for one in far} == {None}


def test_filters_leave_what_they_say_and_count_it() -> None:
    rows = compare(clean_order(), [example_catalogue(), priced(lab="Other Lab")])
    tough = left_by(rows, ["impact_resistant", "makeable"], lab="Other Lab")
    assert tough
    assert {(row.offer.material.impact_resistant, row.offer.catalogue.lab) for row in tough} == {(True, "Other Lab")}
    assert all(row.verdict != "stop" for row in tough)
    assert counts(rows) == {name: len(left_by(rows, [name])) for name in counts(rows)}
    assert 0 < counts(rows)["clear"] < counts(rows)["makeable"] < len(rows)
