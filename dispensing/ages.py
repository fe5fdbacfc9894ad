"""Age, and who is protected by it. Pure: the day is always given, never looked up."""

from datetime import date

PROTECTED_BELOW_AGE = 16
"""Spectacles for anyone younger are dispensed under a registrant's eyes (UK Opticians Act, s. 27)."""

OLDEST_BELIEVED_YEARS = 120


def age_on(born_on: date, day: date) -> int:
    """Whole years lived on ``day``; someone born on 29 February has the birthday on 1 March in common years."""
    return day.year - born_on.year - ((day.month, day.day) < (born_on.month, born_on.day))
