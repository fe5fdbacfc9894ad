"""The practice's own price list: read strictly, money to the cent, every faulty row named with its line."""

from __future__ import annotations

from decimal import Decimal

import pytest

from orders.documents.price_list import OwnPrice, read_prices

HEAD = "lab,design,material,treatment,blank_mm,per,amount,currency"


def faults(text: str) -> list[str]:
    return [str(fault) for fault in read_prices(text.encode()).faults]


def test_rows_are_read_with_what_they_price_and_money_to_the_cent() -> None:
    text = f"{HEAD}\nQuay Street Lab,Progressive,1.60,,70,pair,128.50,EUR\n,,,ar,,,0.10,EUR\n"
    assert read_prices(text.encode()).rows == (
        OwnPrice("quay street lab", "progressive", "1.60", None, 70.0, "pair", Decimal("128.50"), "EUR", 2),
        OwnPrice(None, None, None, "ar", None, "lens", Decimal("0.10"), "EUR", 3),
    )
    assert read_prices(text.encode()).faults == ()


def test_a_spreadsheets_own_csv_is_read_too() -> None:
    text = "﻿Currency;Amount;Design\r\nEUR;128,50;sv\r\n;;\r\nEUR;1;prog\r\n"
    assert [(row.line, row.design, row.amount) for row in read_prices(text.encode()).rows] == [
        (2, "sv", Decimal("128.50")),
        (4, "prog", Decimal(1)),
    ]


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        (",sv,,,,,-1,EUR", "Line 2: The amount “-1” is not a price; write it as in 128.50."),
        (",sv,,,,,,EUR", "Line 2: The amount “” is not a price; write it as in 128.50."),
        (",sv,,,,,1e3,EUR", "Line 2: The amount “1e3” is not a price; write it as in 128.50."),
        (',sv,,,,,"1,234.50",EUR', "Line 2: The amount “1,234.50” is not a price; write it as in 128.50."),
        (",sv,,,,,10,eur", "Line 2: The currency “eur” is not three capital letters (ISO 4217), as in EUR."),
        (",sv,,,,each,10,EUR", "Line 2: “each” under “per” is neither lens nor pair."),
        (",sv,,,7,,10,EUR", "Line 2: The blank “7” is not a diameter in mm."),
        (",sv,10,EUR", "Line 2: It has 4 cells; the heading has 8."),
    ],
)
def test_a_faulty_row_is_named_and_the_one_beside_it_is_still_read(row: str, fault: str) -> None:
    found = read_prices(f"{HEAD}\n{row}\n,prog,,,,,20,EUR\n".encode())
    assert [str(one) for one in found.faults] == [fault]
    assert [one.design for one in found.rows] == ["prog"]


def test_every_faulty_row_is_named_at_once() -> None:
    assert faults(f"{HEAD}\n,sv,,,,,x,EUR\n,prog,,,,,1,E\n,a,,,5,both,1,EUR\n") == [
        "Line 2: The amount “x” is not a price; write it as in 128.50.",
        "Line 3: The currency “E” is not three capital letters (ISO 4217), as in EUR.",
        "Line 4: “both” under “per” is neither lens nor pair.",
        "Line 4: The blank “5” is not a diameter in mm.",
    ]


def test_two_rows_for_the_same_lens_are_a_fault_and_for_another_blank_are_not() -> None:
    assert faults(f"{HEAD}\n,SV,,,,,10,EUR\n,sv,,,,lens,11,EUR\n") == [
        "Line 3: It prices the same as line 2: sv, a lens."
    ]
    assert faults(f"{HEAD}\n,sv,,,65,,10,EUR\n,sv,,,70,,11,EUR\n,sv,,,70,pair,20,EUR\n") == []


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "The file is empty."),
        (HEAD, "The file has no prices."),
        ("design,amount\nsv,10", "Line 1: There is no column “currency”."),
        ("design,price,amount,currency\nsv,1,1,EUR", "Line 1: “price” is no column of a price list; those are lab,"),
        ("amount,amount,currency\n1,1,EUR", "Line 1: The column “amount” appears twice."),
        ('amount,currency\n"1,EUR', "This is no row of a CSV file"),
    ],
)
def test_a_file_that_is_no_price_list_says_why(text: str, fault: str) -> None:
    assert any(fault in one for one in faults(text)), faults(text)


def test_a_file_that_is_not_text_says_so() -> None:
    assert [str(one) for one in read_prices(b"amount,currency\n\xff").faults] == [
        "The file is not UTF-8 text (byte 17)."
    ]
