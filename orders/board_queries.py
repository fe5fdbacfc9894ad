"""The board sorted: by when a pair is needed or expected, by how long an order has been where it is, the stuck first.

Only the open orders are sorted, so that the cost follows the work at hand and not what lies behind it. Every order of
rows goes on by key, and no key holds anything about a patient.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, TypedDict

from django.db.models import BooleanField, Case, CharField, DateField, F, IntegerField, Q, QuerySet, When
from django.db.models import Value as V
from django.db.models.functions import Coalesce
from django.utils import timezone

from dispensing.queries.paging import Page, every_row, page_by_row, page_of
from orders.models import Order
from orders.progress import FINISHED, Place
from orders.queries import BoardFilter, delayed, filtered, in_trouble, late_before, late_soon
from orders.stuck import promise_past

if TYPE_CHECKING:
    from django_stubs_ext import WithAnnotations

    from orders.queries import MarkedOrder, Marks

    class Stay(TypedDict):
        since: datetime
        is_delayed: bool

    class BoardMarks(Marks, Stay):
        pass

    BoardOrder = WithAnnotations[Order, BoardMarks]

# Where an order waits for somebody at the practice.
WAITS_FOR_US = (Place.QUERY_OPEN, Place.TO_CHECK, Place.TO_TELL, Place.TO_REMAKE)
NEWEST = ("-pk",)


@dataclass(frozen=True)
class Sort:
    """``by``: what is annotated and sorted by, before the key; ``empty``: stands for a value that is missing.

    ``names_patients``: what is sorted by may stand in no key, for a key stands in an address.
    """

    words: str
    by: Callable[[Any], dict[str, Any]]
    empty: tuple[Any, Any] = ("", "")
    both_ways: bool = True
    names_patients: bool = False


def _stuck(_empty: Any) -> dict[str, Any]:
    """Not with the lab, or refused; then late; then about to be; then waiting for somebody here; then the rest."""
    today, now = timezone.localdate(), timezone.now()
    ranks = (
        in_trouble() | Q(place=str(Place.REFUSED)),
        late_before(today),
        late_soon(today) | promise_past(now),
        Q(place__in=[str(place) for place in WAITS_FOR_US]),
    )
    cases = [When(rank, then=V(number)) for number, rank in enumerate(ranks)]
    return {"rank": Case(*cases, default=V(len(ranks)), output_field=IntegerField())}


def _day(name: str) -> Callable[[Any], dict[str, Any]]:
    return lambda empty: {"day": Coalesce(name, V(empty), output_field=DateField())}


FAR_DAYS = (date.max, date.min)
SORTS: dict[str, Sort] = {
    "stuck": Sort("Stuck ones first", _stuck, both_ways=False),
    "stay": Sort("Longest at its place", lambda _empty: {}),
    "patient": Sort(
        "Patient",
        lambda _: {"family": F("patient__family_name"), "given": F("patient__given_names")},
        names_patients=True,
    ),
    "needed": Sort("Needed", _day("needed_on"), FAR_DAYS),
    "expected": Sort("Expected", _day("expected_on"), FAR_DAYS),
    "lab": Sort("Lab", lambda _: {"named": Coalesce("lab__name", V(""), output_field=CharField())}),
    "dispenser": Sort(
        "Dispenser",
        lambda _: {"named": Coalesce("sent_by__last_name", "created_by__last_name", V(""), output_field=CharField())},
    ),
}
"""Each way to sort besides the newest first, by its name in an address; with ``-`` before it the other way round."""


def sort_named(name: str) -> Sort | None:
    """None for the newest first, and for a name that is no sort."""
    sort = SORTS.get(name.removeprefix("-"))
    return None if sort is None or (name.startswith("-") and not sort.both_ways) else sort


def can_be_sorted(wanted: BoardFilter) -> bool:
    """Finished orders are too many to sort by anything but when they were begun."""
    return not wanted.place or Place(wanted.place) not in FINISHED


def sorted_board(wanted: BoardFilter, sort: str = "", *, after: str = "") -> Page[BoardOrder]:
    """One page. A sort leaves finished orders out; where only they are wanted, the newest come first."""
    rows, order = _sorted(wanted, sort)
    by = sort_named(sort)
    if by is None or not by.names_patients or order == NEWEST:
        return page_of(rows, order=order, after=after)
    return page_by_row(rows, _staying(filtered(BoardFilter())).annotate(**by.by("")), order=order, after=after)


def whole_board(wanted: BoardFilter, sort: str = "") -> Iterator[BoardOrder]:
    """The same rows from the first to the last."""
    rows, order = _sorted(wanted, sort)
    return every_row(rows, order=order)


def _sorted(wanted: BoardFilter, name: str) -> tuple[QuerySet[BoardOrder], tuple[str, ...]]:
    sort = sort_named(name) if can_be_sorted(wanted) else None
    if sort is None:
        return _staying(filtered(wanted)), NEWEST
    backwards = name.startswith("-")
    annotated = sort.by(sort.empty[backwards])
    rows = _staying(filtered(replace(wanted, unfinished=not wanted.place))).annotate(**annotated)
    # What is sorted by, then whoever has been where it is for longest.
    sign = "-" if backwards else ""
    return rows, tuple(f"{sign}{part}" for part in (*annotated, "since", "pk"))


def _staying(rows: QuerySet[MarkedOrder]) -> QuerySet[BoardOrder]:
    """Each with ``since`` when it has been where it is, and whether the lab said that it is late (``is_delayed``)."""
    late = Case(When(delayed(), then=V(True)), default=V(False), output_field=BooleanField())
    marked = rows.annotate(since=Coalesce("place_since", "created_at"), is_delayed=late)
    return marked.select_related("patient", "lab", "created_by", "sent_by")
