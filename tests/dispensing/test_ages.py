"""Ages by the calendar, and the day until which a record is kept."""

from __future__ import annotations

from datetime import date

import pytest

from dispensing.ages import age_on, kept_until


@pytest.mark.parametrize(
    ("born", "day", "years"),
    [
        (date(2010, 11, 25), date(2026, 11, 25), 16),
        (date(2010, 11, 26), date(2026, 11, 25), 15),
        (date(2008, 2, 29), date(2026, 2, 28), 17),
        (date(2008, 2, 29), date(2026, 3, 1), 18),
    ],
)
def test_age_counts_birthdays(born: date, day: date, years: int) -> None:
    assert age_on(born, day) == years


@pytest.mark.parametrize(
    ("born", "seen", "until"),
    [
        (date(1968, 4, 2), date(2026, 11, 25), date(2036, 11, 25)),
        (date(2020, 6, 1), date(2026, 11, 25), date(2045, 6, 1)),
        (date(2009, 6, 1), date(2026, 11, 25), date(2036, 11, 25)),
        (date(1968, 4, 2), date(2024, 2, 29), date(2034, 3, 1)),
    ],
    ids=["an adult", "a young child", "nearly grown up", "a leap day"],
)
def test_a_record_is_kept_ten_years_and_a_childs_at_least_until_25(born: date, seen: date, until: date) -> None:
    assert kept_until(born, seen, adult_years=10, child_until_age=25) == until


def test_an_adult_is_kept_by_the_adults_rule_alone() -> None:
    assert kept_until(date(2000, 1, 1), date(2020, 1, 1), adult_years=1, child_until_age=60) == date(2021, 1, 1)
