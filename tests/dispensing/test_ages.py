"""Ages by the calendar, and the day until which a record is kept."""

from __future__ import annotations

from datetime import date

import pytest

from dispensing.ages import age_on


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
