"""Who may already be registered: same birth date and similar name, or same phone number and similar family name."""

from collections.abc import Sequence
from datetime import date
from difflib import SequenceMatcher

from django.db.models import Q

from dispensing.folding import digits_of, fold
from dispensing.models import Patient

LIKE = 0.75
"""The share of letters two names have in common, in order, at which a person should look: Jansen and Janssen 0.92."""

NUMBER_WITHOUT_CODE = 9
"""How many last figures of a phone number stay the same with and without a country code."""


def possible_duplicates(
    *, family_name: str, given_names: str, born_on: date, phone: str = "", apart_from: Patient | None = None
) -> Sequence[Patient]:
    """Patients who may be the same person, for a human to decide."""
    number = digits_of(phone)[-NUMBER_WITHOUT_CODE:]
    known = Q(born_on=born_on)
    if len(number) >= 6:
        known |= Q(search_text__contains=number)
    candidates = Patient.objects.filter(known)
    if apart_from is not None:
        candidates = candidates.exclude(pk=apart_from.pk)
    return [one for one in candidates if _like(one, family_name, given_names, born_on)]


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
