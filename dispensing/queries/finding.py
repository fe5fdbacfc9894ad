"""Finding patients by what people remember: exactly, by how else they are reached, and by a name that is near.

Every search of the record passes through here, and both databases give the same answers: what is asked of them is
whether a text contains a part, which PostgreSQL and SQLite each answer by an index of their own, and equality.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from django.db import connection
from django.db.models import Q, QuerySet
from django.db.models.expressions import RawSQL
from django.utils import timezone

from dispensing.likeness import distance, keys_of
from dispensing.models import NameKey, Patient, Practice
from dispensing.queries.paging import Page, page_of
from dispensing.search_index import IN_SQLITE_MATCHING
from dispensing.search_words import GAP, Reader, Term, terms_of

PATIENTS_A_PAGE = 25
LONGEST_SEARCH = 200
MOST_OTHERS = 10
"""Found by an address or a near name: more than so many are no help, and another word is."""

_MOST_NEAR_WORDS = 20
_LOOKED_THROUGH = 100
IN_ORDER = ("family_name", "given_names", "pk")
OWN, CONTACT = "search_text", "contact_text"


@dataclass(frozen=True)
class Found:
    """``page``: by name, number, phone or birth date. Where that is all on one page, ``others`` are found by guardian,
    e-mail or address as well, and ``near`` by a name that is nearly the one typed; ten of each at most."""

    page: Page[Patient]
    others: Sequence[Patient] = field(default=())
    near: Sequence[Patient] = field(default=())

    @property
    def only(self) -> Patient | None:
        """The one patient who was meant, if there is no doubt."""
        alone = self.page.first and len(self.page.rows) == 1 and not self.page.next_key and not self.others
        return self.page.rows[0] if alone else None

    @property
    def anybody(self) -> bool:
        return bool(self.page.rows or self.others or self.near)


def find(text: str, *, after: str = "", size: int = PATIENTS_A_PAGE) -> Found:
    """Who is meant by the text, in order of name. An empty one finds everybody, one of signs only nobody.

    The key of a page contains a name, so it is sent by POST and never appears in an address.
    """
    terms = terms_of(text, _reader())
    page = page_of(_meeting(terms, text), order=IN_ORDER, after=after, size=size)
    if not terms or page.next_key or not page.first:
        return Found(page)
    others = _others(terms, page.rows)
    near = [] if len(others) == MOST_OTHERS else _near(terms, [*page.rows, *others])
    return Found(page, others, near)


def _reader() -> Reader:
    practice = Practice.current()
    return Reader(timezone.localdate(), month_first=practice.country == "US", country=practice.country)


def has_part(column: str, part: str, patient: str = "") -> Q:
    """Whose text contains the part, which is of three letters or more. ``patient``: the way there, ``patient__``."""
    if connection.vendor != "sqlite":
        return Q(**{f"{patient}{column}__contains": part})
    match = [f'{column} : "{part}"']  # letters, figures and gaps only
    return Q(**{f"{patient}pk__in": RawSQL(IN_SQLITE_MATCHING, match)})  # noqa: S611 (of constants)


def patients_told_by(text: str) -> QuerySet[Patient]:
    """Those who are meant by the text exactly, in no order: for lists of what belongs to them."""
    return _meeting(terms_of(text, _reader()), text).order_by()


def _meeting(terms: Sequence[Term], text: str) -> QuerySet[Patient]:
    found = Patient.objects.all() if terms or not text.strip() else Patient.objects.none()
    for term in terms:
        found = found.filter(_has(term, OWN))
    return found


def _has(term: Term, *columns: str) -> Q:
    meets = Q(born_on__in=term.born) if term.born else Q()
    for part in term.parts:
        for column in columns:
            meets |= has_part(column, part)
    return meets


def _others(terms: Sequence[Term], listed: Sequence[Patient]) -> Sequence[Patient]:
    if not any(term.parts for term in terms):
        return []
    found = Patient.objects.exclude(pk__in=[patient.pk for patient in listed])
    for term in terms:
        found = found.filter(_has(term, OWN, CONTACT))
    return list(found.order_by(*IN_ORDER)[:MOST_OTHERS])


def _near(terms: Sequence[Term], listed: Sequence[Patient]) -> Sequence[Patient]:
    """At least one of the words is a name near the one typed; the rest is as typed or near as well. Nearest first."""
    near = {term.word: near_words(term.word) for term in terms if term.word}
    if not any(near.values()):
        return []
    found = Patient.objects.exclude(pk__in=[patient.pk for patient in listed])
    for term in terms:
        meets = _has(term, OWN, CONTACT)
        for word in near.get(term.word, ()):
            meets |= has_part(OWN, f"{GAP}{word}{GAP}") | has_part(CONTACT, f"{GAP}{word}{GAP}")
        found = found.filter(meets)
    apart = {patient: _apart(patient, near) for patient in found.order_by(*IN_ORDER)[:_LOOKED_THROUGH]}
    return sorted(apart, key=lambda patient: apart[patient])[:MOST_OTHERS]


def _apart(patient: Patient, near: dict[str, dict[str, int]]) -> int:
    """How many letters were wrong, of all words together."""
    words = {*patient.search_text.split(), *patient.contact_text.split()}
    return sum(min((letters for word, letters in found.items() if word in words), default=0) for found in near.values())


def near_words(word: str) -> dict[str, int]:
    """The names on record that are nearly this one, with how many letters differ; nearest first."""
    keyed = NameKey.objects.filter(key__in=keys_of(word)).values_list("word", flat=True).distinct()
    apart = {other: letters for other in keyed if other != word and (letters := distance(word, other)) is not None}
    return dict(sorted(apart.items(), key=lambda found: (found[1], found[0]))[:_MOST_NEAR_WORDS])
