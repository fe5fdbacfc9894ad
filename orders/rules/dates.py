"""Date arithmetic: months later, working days. It must never read a clock."""

from __future__ import annotations

import calendar
from collections.abc import Iterator
from datetime import date, timedelta

SATURDAY = 5


def months_later(day: date, months: int) -> date:
    """The same day that many months later, or the last of that month; the last possible date if beyond it."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if year > date.max.year:
        return date.max
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def years_later(day: date, years: int) -> date:
    """The same day that many years later or, of a negative number, earlier; 28 February for a leap day."""
    return months_later(day, 12 * years)


def working_days_between(first: date, second: date) -> int:
    """Mondays to Fridays after `first`, up to and including `second`; 0 when `second` is not later."""
    if second <= first:
        return 0
    weeks, rest = divmod((second - first).days, 7)
    extra = sum((first + timedelta(days=step)).weekday() < SATURDAY for step in range(1, rest + 1))
    return weeks * 5 + extra


def working_days_later(day: date, days: float) -> date:
    """The first day by which that many working days lie after `day`."""
    later = day
    while working_days_between(day, later) < days:
        later += timedelta(days=1)
    return later


def written(day: date) -> str:
    """A date as findings write it: ``30 October 2026``."""
    return f"{day.day} {calendar.month_name[day.month]} {day.year}"


CENTURY = 100


def year_meant(day: date, not_before: date) -> date | None:
    """The same day in the year that was probably meant: the first of a few slips that lies soon after `not_before`.

    The slips are the last two figures of the year exchanged (2062 for 2026), the next or last year, and the century.
    None if none of them lies within a year of it, or the day does not exist in that year.
    """
    return next((one for one in _slips(day) if not_before <= one <= years_later(not_before, 1)), None)


def birth_meant(born: date, day: date, oldest_years: float) -> date | None:
    """The birth date that was probably meant, in the century after or with two figures exchanged: 1968 for 1868."""
    later = (one for one in _slips(born) if born < one < day and day.year - one.year < oldest_years)
    return next(later, None)


def _slips(day: date) -> Iterator[date]:
    century, years = divmod(day.year, CENTURY)
    tens, ones = divmod(years, 10)
    for year in (century * CENTURY + ones * 10 + tens, day.year - 1, day.year + 1, day.year + CENTURY):
        if date.min.year <= year <= date.max.year and year != day.year:
            yield years_later(day, year - day.year)
