"""Date arithmetic: months later, working days. It must never read a clock."""

from __future__ import annotations

import calendar
from datetime import date, timedelta

SATURDAY = 5


def months_later(day: date, months: int) -> date:
    """The same day that many months later, or the last of that month; the last possible date if beyond it."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if year > date.max.year:
        return date.max
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def working_days_between(first: date, second: date) -> int:
    """Mondays to Fridays after `first`, up to and including `second`; 0 when `second` is not later."""
    if second <= first:
        return 0
    weeks, rest = divmod((second - first).days, 7)
    extra = sum((first + timedelta(days=step)).weekday() < SATURDAY for step in range(1, rest + 1))
    return weeks * 5 + extra


def written(day: date) -> str:
    """A date as findings write it: ``30 October 2026``."""
    return f"{day.day} {calendar.month_name[day.month]} {day.year}"
