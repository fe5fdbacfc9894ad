"""Who may already be registered, for a person to decide.

Same birth date and similar name, same phone number and similar family name, or the same name and another birth date.
"""

from collections.abc import Sequence
from datetime import date
from difflib import SequenceMatcher

from django.db.models import Q, QuerySet
from rapidfuzz.distance import OSA

from dispensing.folding import digits_of, fold, folded_words
from dispensing.models import Patient
from dispensing.queries.finding import OWN, has_part
from dispensing.search_words import GAP

LIKE = 0.75
"""The share of letters two names have in common, in order, at which a person should look: Jansen and Janssen 0.92."""

NUMBER_WITHOUT_CODE = 9
"""How many last figures of a phone number stay the same with and without a country code."""

MOST_NAMESAKES = 5
"""Of all who bear a common name, those whose birth dates are most easily mistaken for the one given."""


def possible_duplicates(
    *, family_name: str, given_names: str, born_on: date, phone: str = "", apart_from: Patient | None = None
) -> Sequence[Patient]:
    """Patients who may be the same person, those with more than the name in common first."""
    number = digits_of(phone)[-NUMBER_WITHOUT_CODE:]
    known = Q(born_on=born_on)
    if len(number) >= 6:
        known |= has_part(OWN, number)
    others = Patient.objects.exclude(pk=apart_from.pk) if apart_from else Patient.objects.all()
    alike = [one for one in others.filter(known) if _like(one, family_name, given_names, born_on)]
    namesakes = _of_the_same_name(others.exclude(pk__in=[one.pk for one in alike]), f"{given_names} {family_name}")
    return alike + sorted(namesakes, key=lambda one: (_dates_apart(one.born_on, born_on), one.pk))[:MOST_NAMESAKES]


def _of_the_same_name(others: QuerySet[Patient], name: str) -> list[Patient]:
    for word in folded_words(name):
        others = others.filter(has_part(OWN, f"{GAP}{word}{GAP}"))
    return [one for one in others if sorted(folded_words(one.full_name)) == sorted(folded_words(name))]


def _dates_apart(one: date, other: date) -> int:
    """How many figures were mistaken or exchanged, if both are one date; day and month exchanged count as one slip."""
    if (one.year, one.month, one.day) == (other.year, other.day, other.month):
        return 1
    return OSA.distance(f"{one:%Y%m%d}", f"{other:%Y%m%d}")


def _like(one: Patient, family_name: str, given_names: str, born_on: date) -> bool:
    if one.born_on == born_on:
        return _alike_in_any_order(one.full_name, f"{given_names} {family_name}")
    return _alike(one.family_name, family_name)


def _alike_in_any_order(first: str, second: str) -> bool:
    """Also true if family and given names were swapped, or only one of several given names was written."""
    ours, theirs = fold(first).split(), fold(second).split()
    if set(ours) <= set(theirs) or set(theirs) <= set(ours):
        return True
    return _alike(" ".join(sorted(ours)), " ".join(sorted(theirs)))


def _alike(first: str, second: str) -> bool:
    return SequenceMatcher(None, fold(first), fold(second)).ratio() >= LIKE
