"""The practice's own price list in the comparison: the row that names most, treatments added, unknown never zero."""

from __future__ import annotations

import io
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from orders.documents.canonical import plain
from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.price_list import PriceList, read_prices
from orders.options.lenses.command import run
from orders.options.lenses.comparison import LensRow, compare
from orders.options.lenses.differences import differences
from orders.options.lenses.ranking import ranked
from orders.rules.examples import HERE, clean_order, example_catalogue
from tests.known import there

HEAD = "lab,design,material,treatment,blank_mm,per,amount,currency\n"
NAME = example_catalogue().lab


def prices(*rows: str) -> PriceList:
    found = read_prices((HEAD + "\n".join(rows)).encode())
    assert found.faults == ()
    return found


def rows_with(*rows: str, treatments: tuple[str, ...] = ("ar",), eyes: int = 2) -> tuple[LensRow, ...]:
    order = clean_order()
    lens = there(order.lenses.right).model_copy(update={"treatments": treatments})
    lenses = order.lenses.model_copy(update={"right": lens, "left": lens if eyes == 2 else None})
    ordered = order.model_copy(update={"lenses": lenses})
    return compare(ordered, [example_catalogue()], own_prices=prices(*rows))


def cost(rows: tuple[LensRow, ...], design: str = "progressive", material: str = "m160") -> tuple[Any, str]:
    row = next(row for row in rows if (row.offer.design.id, row.offer.material.id) == (design, material))
    why = [one.why for one in row.unknown if one.figure == "price"]
    return (None if row.cost is None else row.cost.total), "".join(why)


AR = ",,,ar,,,40,EUR"


def test_the_row_that_names_most_is_the_lens_and_its_treatment_is_added_for_both_lenses() -> None:
    listed = (",,,,,,50,EUR", ",Progressive,,,,,200,EUR", ",progressive,m160,,,,260.05,EUR", AR)
    rows = rows_with(*listed)
    assert cost(rows) == (Decimal("600.10"), "")
    assert cost(rows, material="m150") == (Decimal(480), "")
    assert cost(rows, "single") == (Decimal(180), "")
    assert cost(rows_with(*listed, treatments=())) == (Decimal("520.10"), "")
    assert cost(rows_with(*listed, eyes=1)) == (Decimal("300.05"), "")


def test_a_price_of_the_pair_counts_once_and_only_where_a_pair_is_ordered() -> None:
    listed = (",progressive,,,,pair,450,EUR", ",,,,,lens,50,EUR", ",,,ar,,pair,60,EUR", AR)
    assert cost(rows_with(*listed)) == (Decimal(510), "")
    assert cost(rows_with(*listed, eyes=1)) == (Decimal(90), "")
    both = (",progressive,,,,pair,450,EUR", ",progressive,,,,lens,240,EUR")
    assert cost(rows_with(*both, treatments=())) == (Decimal(450), "")
    assert cost(rows_with(*both, treatments=(), eyes=1)) == (Decimal(240), "")


@pytest.mark.parametrize(
    ("listed", "why"),
    [
        ((AR,), "Our price list has no price for the lens itself."),
        ((",progressive,,,,,200,EUR",), "Our price list has no price for “Anti-reflection”."),
        (("Far Lab,progressive,,,,,200,EUR", AR), "Our price list has no price for the lens itself."),
        ((",progressive,,,99,,200,EUR", AR), "Our price list has no price for the lens itself."),
        (
            (",progressive,,,,,200,EUR", ",,m160,,,,90,EUR", AR),
            "Two prices of our list suit the lens itself equally well.",
        ),
        ((",,,,,,200,EUR", ",,,ar,,,40,USD"), "Our price list prices its parts in two currencies."),
    ],
)
def test_what_is_not_priced_says_why_and_is_never_nothing(listed: tuple[str, ...], why: str) -> None:
    assert cost(rows_with(*listed)) == (None, why)


def test_a_treatment_that_is_included_is_listed_with_nought() -> None:
    assert cost(rows_with(",,,,,,50,EUR", ",,,ar,,,0,EUR")) == (Decimal(100), "")


def test_a_blank_and_a_lab_are_priced_apart() -> None:
    rows = rows_with(",,,,,,50,EUR", ",,,,65,,44,EUR", f"{NAME},single,,,,,47,EUR", treatments=())
    totals = {row.offer.blank_mm: there(row.cost).total for row in rows if row.offer.design.id == "progressive"}
    assert totals.get(65.0, Decimal(88)) == Decimal(88)
    assert totals[70.0] == Decimal(100)


def test_the_own_list_takes_the_place_of_the_catalogues_prices_and_unknown_comes_last() -> None:
    document = plain(example_catalogue())
    catalogue = parse_catalogue(json.dumps({**document, "prices": [{"amount": 5.0, "currency": "EUR"}]}))
    by_catalogue = compare(clean_order(), [catalogue])
    assert {there(row.price).amount for row in by_catalogue} == {5.0}
    assert {there(row.cost).total for row in by_catalogue} == {Decimal(10)}
    own = compare(clean_order(), [catalogue], own_prices=prices(",progressive,m160,,,,260,EUR", AR))
    order = ranked(own, "price")
    assert {one.row.offer.material.id for one in order if one.place is not None} == {"m160"}
    assert [one.place is None for one in order] == sorted(one.place is None for one in order)
    assert there(order[0].row.document().price).model_dump() == {"extra": None, "amount": 600.0, "currency": "EUR"}
    assert order[-1].row.document().price is None


def test_lenses_are_told_apart_by_what_the_pair_costs() -> None:
    rows = rows_with(",,m160,,,,260,EUR", ",,m150,,,,219.50,EUR", treatments=())
    first, other = (next(row for row in rows if row.offer.material.id == id) for id in ("m160", "m150"))
    assert differences(first, other)[-1] == "81.00 EUR more"


def test_the_command_goes_by_the_list_and_names_every_faulty_row(tmp_path: Path) -> None:
    order, listed = tmp_path / "order.json", tmp_path / "prices.csv"
    order.write_text(clean_order().model_dump_json(exclude_unset=True))
    listed.write_text(HEAD + ",,m160,,,,260,EUR\n" + AR)
    out, err = io.StringIO(), io.StringIO()
    assert run(order, [HERE / "catalogue.json"], out, err, prices_path=listed) == 0
    found = [json.loads(line) for line in out.getvalue().splitlines()]
    assert {(one["material"], (one["price"] or {}).get("amount")) for one in found} >= {("m160", 600.0), ("m150", None)}
    listed.write_text(HEAD + ",,m160,,,,260,euro\n,,,,,,x,EUR")
    out, err = io.StringIO(), io.StringIO()
    assert run(order, [HERE / "catalogue.json"], out, err, prices_path=listed) == 2
    assert (out.getvalue(), err.getvalue().count("Line ")) == ("", 2)
    assert run(order, [HERE / "catalogue.json"], out, err, prices_path=tmp_path / "none.csv") == 2
    assert "cannot be read" in err.getvalue()
