"""Dates as people write them: ``2.4.1968``, ``02/04/1968``, ``1968-04-02``, ``2 Apr 1968``, ``02041968``.

Pure. The caller says which of two figures is the month (``month_first``, from the practice's country), never guessed
from the figures; a year of two figures is refused, because 25 may be 1925.
"""

import re
from datetime import date

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH_WORD = r"(?P<word>jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?"
_YEAR = r"(?P<year>\d{4})"
_FIGURES = re.compile(rf"(?P<first>\d{{1,2}})\s*[./\-\s]\s*(?P<second>\d{{1,2}})\s*[./\-\s]\s*{_YEAR}")
_YEAR_FIRST = re.compile(rf"{_YEAR}[./\-](?P<month>\d{{1,2}})[./\-](?P<day>\d{{1,2}})")
_DAY_WORD = re.compile(rf"(?P<day>\d{{1,2}})(?:st|nd|rd|th)?\.?[\s\-]*{_MONTH_WORD},?[\s\-]*{_YEAR}")
_WORD_DAY = re.compile(rf"{_MONTH_WORD}\s*(?P<day>\d{{1,2}})(?:st|nd|rd|th)?,?\s+{_YEAR}")
_RUN_TOGETHER = re.compile(r"\d{8}")
_SHORT_WRITTEN = re.compile(
    r"(?:\d{1,2}[./\-]\d{1,2}[./\-]|\d{1,2}\.?[\s\-]*(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?,?[\s\-]*)"
    r"(?P<short>\d{2})"
)
_SHORT_RUN = re.compile(r"\d{4}(?P<short>\d{2})")
_SHORT_YEAR = re.compile(r"\d{1,2}\s*[./\-\s]\s*\d{1,2}\s*[./\-\s]\s*\d{2}")

# Outside these years, figures in a search are more likely a phone number.
_FIRST_YEAR, _LAST_YEAR = 1900, 2100

DATE_FORMS = "2.4.1968, 02/04/1968, 1968-04-02 or 2 Apr 1968"


class DateError(ValueError):
    """Not a date, or one that could be read in more than one way; the message says what to write."""


def written_date(text: str, month_first: bool = False) -> date:
    """The date that the text means. ``month_first``: 04/02/1968 is 2 April (as in the US), else 4 February."""
    plain = text.strip().lower()
    parts = _parts(plain, month_first)
    if parts is None:
        if _SHORT_YEAR.fullmatch(plain):
            raise DateError("Write the year with four figures, as in 1968.")
        raise DateError(f"This is not a date. Write it as {DATE_FORMS}.")
    try:
        return date(*parts)
    except ValueError:
        year, month, day = parts
        raise DateError(f"There is no day {day} in month {month} of {year}.") from None


def _parts(plain: str, month_first: bool) -> tuple[int, int, int] | None:
    if found := _YEAR_FIRST.fullmatch(plain):
        return int(found["year"]), int(found["month"]), int(found["day"])
    if found := _FIGURES.fullmatch(plain):
        return _ordered(int(found["year"]), int(found["first"]), int(found["second"]), month_first)
    if found := _DAY_WORD.fullmatch(plain) or _WORD_DAY.fullmatch(plain):
        return int(found["year"]), _MONTHS.index(found["word"]) + 1, int(found["day"])
    if _RUN_TOGETHER.fullmatch(plain):
        if plain[:2] in ("19", "20") and int(plain[4:6]) <= 12 and int(plain[2:4]) > 12:
            return int(plain[:4]), int(plain[4:6]), int(plain[6:])
        if plain[4:6] in ("19", "20"):
            return _ordered(int(plain[4:]), int(plain[:2]), int(plain[2:4]), month_first)
        return int(plain[:4]), int(plain[4:6]), int(plain[6:])
    return None


def _ordered(year: int, first: int, second: int, month_first: bool) -> tuple[int, int, int]:
    return (year, first, second) if month_first else (year, second, first)


def years_of_birth(year: int, today: date) -> list[int]:
    """The years that two figures of a year of birth may mean: 25 is 1925, and from 2025 on also that year."""
    return [century + year for century in (1900, 2000) if century + year <= today.year]


def short_dates_within(text: str, today: date, month_first: bool = False) -> tuple[list[date], str]:
    """The birth dates that dates with a year of two figures among the words of a text may mean, and the rest of it."""
    found: list[date] = []

    def take(match: re.Match[str]) -> str:
        days = short_dates(match.group(), today, month_first)
        found.extend(days)
        return " " if days else match.group()

    return found, re.sub(rf"(?<![\w./-])(?:{_SHORT_WRITTEN.pattern})(?![\w./-])", take, text, flags=re.IGNORECASE)


def short_dates(written: str, today: date, month_first: bool = False) -> list[date]:
    """The days up to today that ``2.4.68``, ``2 Apr 68`` or ``020468`` may mean; none if it is no such date."""
    plain = written.strip().lower()
    match = _SHORT_WRITTEN.fullmatch(plain) or _SHORT_RUN.fullmatch(plain)
    if match is None:
        return []
    start, last = plain[: match.start("short")], int(match["short"])
    days = []
    for year in years_of_birth(last, today):
        try:
            days.append(written_date(f"{start}{year}", month_first))
        except DateError:
            continue
    return [day for day in days if day <= today]


def dates_within(text: str, month_first: bool = False) -> tuple[list[date], str]:
    """The dates found among the other words of a text, and the text without them."""
    found: list[date] = []

    def take(match: re.Match[str]) -> str:
        try:
            day = written_date(match.group(), month_first)
        except DateError:
            return match.group()
        if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
            return match.group()
        found.append(day)
        return " "

    rest = text
    for form in (_YEAR_FIRST, _FIGURES, _DAY_WORD, _WORD_DAY, _RUN_TOGETHER):
        rest = re.sub(rf"(?<!\w)(?:{form.pattern})(?!\w)", take, rest, flags=re.IGNORECASE)
    return found, rest
