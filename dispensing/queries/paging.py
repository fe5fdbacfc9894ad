"""Pages by key: each page starts after the last row of the one before, so page 500 is as fast as page 1.

Knows no model. The key is the last row's ordering values; a key that cannot be read gives the first page, which says
so (``key_was_broken``).
"""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

from django.core.exceptions import ValidationError
from django.db.models import F, Field, Lookup, Model, QuerySet, Value
from django.db.models.fields.tuple_lookups import Tuple, TupleGreaterThan, TupleLessThan

Row = TypeVar("Row", bound=Model)
ROWS_A_PAGE = 50
ROWS_A_CHUNK = 2000
LARGEST_WHOLE_NUMBER = 2**63 - 1


@dataclass(frozen=True)
class Page(Generic[Row]):
    """``next_key`` is empty on the last page. ``key_was_broken``: what was asked for is no page; this is the first."""

    rows: Sequence[Row]
    next_key: str = ""
    first: bool = True
    key_was_broken: bool = False


def page_of(rows: QuerySet[Row], *, order: Sequence[str], after: str = "", size: int = ROWS_A_PAGE) -> Page[Row]:
    """One page in one query. ``order``: names of fields or annotations, all with ``-`` for descending or none, the last
    unique (``pk``).

    They hold text, whole numbers, days or times and are never null.
    """
    position = _position(after, len(order))
    ordered = rows.order_by(*order)
    if position:
        try:
            ordered = ordered.filter(_beyond(rows, order, position))
        except (ValueError, TypeError, ValidationError):
            position = []
    found = list(ordered[: size + 1])
    more = len(found) > size
    key = _key(found[size - 1], order) if more else ""
    return Page(found[:size], key, first=not position, key_was_broken=bool(after) and not position)


def page_by_row(rows: QuerySet[Row], among: QuerySet[Row], *, order: Sequence[str], after: str = "") -> Page[Row]:
    """The same, for what is ordered by something that may not stand in an address, such as a name: the key says only
    which row was the last, and the page goes on behind where that row stands now.

    ``among``: where that row is looked up, with what the order names; it need not be one of ``rows`` any more.
    """
    last = _position(after, 1)
    start = among.filter(pk=_within(last[0])).first() if last and isinstance(last[0], int) else None
    page = page_of(rows, order=order, after=_key(start, order) if start else "")
    key = _key(page.rows[-1], ("pk",)) if page.next_key else ""
    return replace(page, next_key=key, key_was_broken=bool(after) and start is None)


def every_row(rows: QuerySet[Row], *, order: Sequence[str], size: int = ROWS_A_CHUNK) -> Iterator[Row]:
    """All rows, page by page as `page_of` gives them: no more than a chunk is held, and no transaction stays open."""
    key, more = "", True
    while more:
        page = page_of(rows, order=order, after=key, size=size)
        yield from page.rows
        key, more = page.next_key, bool(page.next_key)
        del page  # This chunk is let go before the next is fetched.


def _beyond(rows: QuerySet[Any], order: Sequence[str], position: Sequence[Any]) -> Lookup[bool]:
    """(a, b, …) > (x, y, …) as one comparison of rows, which an index of these fields answers at any depth.

    Written out as "a > x or (a = x and b > y)" a database would read all rows before the page.
    """
    descending = {name.startswith("-") for name in order}
    if len(descending) != 1:
        raise ValueError("All fields of a keyed order ascend, or all descend.")
    names = [name.lstrip("-") for name in order]
    fields = [_field(rows, name) for name in names]
    values = tuple(_within(field.to_python(value)) for field, value in zip(fields, position, strict=True))
    if None in values:
        raise ValueError("Nothing that a list is ordered by is empty.")
    beyond = TupleLessThan if descending.pop() else TupleGreaterThan
    return beyond(Tuple(*(F(name) for name in names)), tuple(map(Value, values, fields)))


def _within(value: Any) -> Any:
    """A whole number that a database can hold: a key is a stranger's to write, and beyond every row is beyond."""
    return max(-LARGEST_WHOLE_NUMBER, min(value, LARGEST_WHOLE_NUMBER)) if isinstance(value, int) else value


def _field(rows: QuerySet[Any], name: str) -> Field[Any, Any]:
    if name in rows.query.annotations:
        field = rows.query.annotations[name].output_field
    else:
        field = rows.model._meta.pk if name == "pk" else rows.model._meta.get_field(name)
    assert isinstance(field, Field)
    return field


def _key(row: Model, order: Sequence[str]) -> str:
    values = [getattr(row, name.lstrip("-")) for name in order]
    return base64.urlsafe_b64encode(json.dumps(values, default=str).encode()).decode().rstrip("=")


def _position(key: str, length: int) -> list[Any]:
    try:
        values = json.loads(base64.urlsafe_b64decode(key + "=" * (-len(key) % 4)))
    except (ValueError, binascii.Error):
        return []
    usable = isinstance(values, list) and len(values) == length and all(map(_can_be_compared, values))
    return values if usable else []


def _can_be_compared(value: Any) -> bool:
    # PostgreSQL refuses NUL in text, and nothing stored contains one.
    return isinstance(value, int) or (isinstance(value, str) and "\x00" not in value)
