"""What somebody typed to find a patient, as what is looked for; and the words by which a patient is found. Pure.

Both sides are written here, so that they fit each other. Words stand two spaces apart with two at either end: an index
of three letters in a row then finds the beginning of a word by one letter, and a whole word.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

import phonenumbers

from dispensing.dates import dates_within, short_dates, short_dates_within
from dispensing.folding import digits_of, folded_words, parts_of_names, spellings
from dispensing.likeness import keys_of, may_be_misspelt

GAP = "  "
MOST_TERMS = 12
FEWEST_FIGURES = 5
"""Fewer figures are a house number or the beginning of something, and not looked for as a phone number."""

# Figures with whatever people put between them; those of a reference follow a hyphen.
_PHONE = re.compile(r"(?<![\w\-])[+(]*\d[\d\s()+./\-]*\d(?!\w)")
# The nought of +44 (0)20 is only for those who leave the code out.
_DIALLED_AT_HOME = re.compile(r"(?<=\d)\s*\(0\)")


@dataclass(frozen=True)
class Term:
    """One thing that whoever is found must have: any of ``parts`` among their words, or one of these birth dates.

    ``word``: what was typed, where it may be a misspelt name; otherwise empty.
    """

    parts: tuple[str, ...] = ()
    born: tuple[date, ...] = ()
    word: str = ""


class Named(Protocol):
    """What of a patient is looked for."""

    reference: str
    given_names: str
    family_name: str
    born_on: date
    phone: str
    email: str
    address: str
    guardian: str


@dataclass(frozen=True)
class Reader:
    """Who reads what was typed: where the month comes first, whose phone numbers have no code, and what day it is."""

    today: date
    month_first: bool = False
    country: str = ""


def terms_of(text: str, reader: Reader) -> list[Term]:
    """All of them must be met. None at all for a text without a letter or a figure, which finds nobody."""
    born, rest = dates_within(text, reader.month_first)
    short, rest = short_dates_within(rest, reader.today, reader.month_first)
    days = tuple(born + short)
    terms = [Term(born=days)] if days else []

    def take(match: re.Match[str]) -> str:
        if len(digits_of(match.group())) < FEWEST_FIGURES:
            return match.group()
        terms.append(_of_figures(match.group(), reader))
        return " "

    rest = _PHONE.sub(take, rest)
    return (terms + [_of_word(ways) for ways in spellings(rest)])[:MOST_TERMS]


def _of_figures(written: str, reader: Reader) -> Term:
    figures = digits_of(written)
    number = _number(written, reader.country)
    # A leading zero or two is for dialling and not part of the number; without them too little may be left.
    short = figures.lstrip("0")
    part = number or (short if len(short) >= FEWEST_FIGURES else figures)
    return Term((part,), tuple(short_dates(written, reader.today, reader.month_first)))


def _of_word(ways: Sequence[str]) -> Term:
    return Term(tuple(map(part_of, ways)), word=ways[0] if may_be_misspelt(ways[0]) else "")


def part_of(word: str) -> str:
    """What a folded word is looked for as: anywhere; with one or two letters as a beginning, and figures as a whole."""
    if len(word) > 2:
        return word
    return f"{GAP}{word}{GAP}" if word.isdecimal() else f"{GAP}{word}"


def _number(written: str, country: str) -> str:
    """A whole phone number without what is dialled before it; empty if this is none."""
    found = _parsed(written, country)
    return phonenumbers.national_significant_number(found) if found else ""


def _parsed(written: str, country: str) -> phonenumbers.PhoneNumber | None:
    try:
        found = phonenumbers.parse(_DIALLED_AT_HOME.sub("", written), country or None)
    except phonenumbers.NumberParseException:
        return None
    # Of a possible length: whether it is given out to anybody is not what matters here.
    whole = phonenumbers.is_possible_number_with_reason(found) == phonenumbers.ValidationResult.IS_POSSIBLE
    return found if whole else None


def phone_words(written: str, country: str) -> list[str]:
    """A phone number as it is looked for: its figures as written, and with the code of its country."""
    found = _parsed(written, country)
    whole = digits_of(phonenumbers.format_number(found, phonenumbers.PhoneNumberFormat.E164)) if found else ""
    return [figures for figures in (digits_of(written), whole) if figures]


def own_text(patient: Named, country: str) -> str:
    """What a patient is called and counted by: names, reference, phone and birth date.

    ``country``: whose phone numbers these are where they have no code.
    """
    names = name_words(patient.given_names, patient.family_name)
    figures = [*phone_words(patient.phone, country), patient.born_on.isoformat()]
    return _joined([*names, *_reference_words(patient.reference), *figures])


def _reference_words(reference: str) -> list[str]:
    """``P-00008`` as it is written, run together, and as it is said: P 8, or 8."""
    written = reference.casefold()
    letters, _, figures = written.partition("-")
    count = figures.lstrip("0")
    return [written, letters + figures, letters + count, count]


def contact_text(patient: Named, country: str) -> str:
    """Where else a patient is reached: guardian with phone, e-mail and address."""
    figures = digits_of(patient.guardian)
    number = phone_words(figures, country) if len(figures) >= FEWEST_FIGURES else []
    return _joined(folded_words(patient.email) + name_words(patient.guardian, patient.address) + number)


def new_name_keys(
    patients: Iterable[Named], on_record: Callable[[Iterable[str]], set[str]]
) -> Iterator[tuple[str, str]]:
    """Each key with its word, for the names that are not on record. ``on_record`` says which of some words are."""
    words = {word for one in patients for word in name_words(one.given_names, one.family_name, one.guardian)}
    usable = {word for word in words if may_be_misspelt(word)}
    for word in sorted(usable - on_record(usable)):
        yield from ((key, word) for key in sorted(keys_of(word)))


def name_words(*names: str) -> list[str]:
    """The words of names and the parts of hyphenated ones, in every spelling without marks."""
    text = " ".join(names)
    spelt = [way for ways in spellings(text) + spellings(re.sub(r"[^\w\s]", " ", text)) for way in ways]
    return list(dict.fromkeys(parts_of_names(text) + spelt))


def _joined(words: Iterable[str]) -> str:
    """Words as they are stored to be looked through."""
    unlike = list(dict.fromkeys(word for word in words if word))
    return f"{GAP}{GAP.join(unlike)}{GAP}" if unlike else ""
