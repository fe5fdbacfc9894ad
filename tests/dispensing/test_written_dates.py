"""Dates as people write them."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from dispensing.dates import DateError, dates_within, written_date

BIRTHDAY = date(1968, 4, 2)


@pytest.mark.parametrize(
    "text",
    ["2.4.1968", "02/04/1968", "2-4-1968", "2 4 1968", "1968-04-02", "1968/4/2", "2 Apr 1968", "2nd April 1968",
     "April 2, 1968", "Apr 2nd 1968", "2. April 1968", "02041968", "19680402", " 2-Apr-1968 "],
)  # fmt: skip
def test_the_usual_ways_of_writing_mean_the_same_day(text: str) -> None:
    assert written_date(text) == BIRTHDAY


def test_where_the_month_comes_first_the_figures_change_places() -> None:
    assert written_date("04/02/1968", month_first=True) == BIRTHDAY
    assert written_date("04021968", month_first=True) == BIRTHDAY
    assert written_date("1968-04-02", month_first=True) == BIRTHDAY


@pytest.mark.parametrize(
    ("text", "says"),
    [("2.4.68", "four figures"), ("31.2.1968", "no day 31"), ("soon", "not a date"), ("2.13.1968", "month 13")],
)
def test_what_is_no_day_is_refused_with_what_to_write(text: str, says: str) -> None:
    with pytest.raises(DateError, match=says):
        written_date(text)


@pytest.mark.parametrize(
    ("text", "rest"),
    [("smith 2.4.1968", ["smith"]), ("2 Apr 1968 jo", ["jo"]), ("1968-04-02", []), ("ann 02041968 b", ["ann", "b"])],
)
def test_a_date_is_found_among_other_words(text: str, rest: Any) -> None:
    found, left = dates_within(text)
    assert found == [BIRTHDAY]
    assert left.split() == rest


@pytest.mark.parametrize("text", ["020 7946 0123", "07700 900123", "12 12 3456", "P-00017"])
def test_a_phone_number_or_reference_is_not_taken_for_a_date(text: str) -> None:
    assert dates_within(text) == ([], text)
