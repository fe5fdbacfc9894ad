"""Age, and how long a record is kept because of it. Pure: the day is always passed in, never looked up."""

from datetime import date

from dispensing.trade import figure

OLDEST_BELIEVED_YEARS = figure("ages", "oldest_years")
ADULT_FROM_YEARS = figure("ages", "adult_from_years")


def age_on(born_on: date, day: date) -> int:
    """Age in whole years on ``day``; someone born on 29 February has their birthday on 1 March in common years."""
    return day.year - born_on.year - ((day.month, day.day) < (born_on.month, born_on.day))


def years_between(born_on: date | None, day: date | None) -> int | None:
    """Age in whole years on ``day``; None if either date is missing or ``day`` is before the birth."""
    if born_on is None or day is None or day < born_on:
        return None
    return age_on(born_on, day)


def kept_until(born_on: date, last_seen_on: date, *, adult_years: int, child_until_age: int) -> date:
    """The day until which a practice keeps a record: a set number of years after the patient was last seen.

    For a patient who was a child then, at least until the set age, whichever is later.
    """
    kept = _years_later(last_seen_on, adult_years)
    if age_on(born_on, last_seen_on) < ADULT_FROM_YEARS:
        kept = max(kept, _years_later(born_on, child_until_age))
    return kept


def _years_later(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February in a common year
        return date(day.year + years, 3, 1)
