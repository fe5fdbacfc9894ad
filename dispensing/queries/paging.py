"""Pages by key: each page starts after the last row of the one before, so page 500 is as fast as page 1.

Knows no model. The key is the last row's ordering values; a key that cannot be read gives the first page.
"""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Any, Generic, TypeVar

from django.core.exceptions import ValidationError
from django.db.models import Model, Q, QuerySet

Row = TypeVar("Row", bound=Model)
ROWS_A_PAGE = 50


@dataclass(frozen=True)
class Page(Generic[Row]):
    """``next_key`` is empty on the last page."""

    rows: Sequence[Row]
    next_key: str = ""
    first: bool = True


def page_of(rows: QuerySet[Row], *, order: Sequence[str], after: str = "", size: int = ROWS_A_PAGE) -> Page[Row]:
    """One page in one query. ``order``: field names, ``-`` for descending, the last one unique (``pk``).

    The fields hold text or whole numbers and are never null.
    """
    position = _position(after, len(order))
    ordered = rows.order_by(*order)
    if position:
        try:
            ordered = ordered.filter(_beyond(order, position))
        except (ValueError, TypeError, ValidationError):
            position = []
    found = list(ordered[: size + 1])
    more = len(found) > size
    return Page(found[:size], _key(found[size - 1], order) if more else "", first=not position)


def _beyond(order: Sequence[str], position: Sequence[Any]) -> Q:
    """(a > x) or (a = x and b > y) or …, with < where the field descends."""
    steps = []
    for depth, name in enumerate(order):
        same = {field.lstrip("-"): value for field, value in zip(order[:depth], position, strict=False)}
        beyond = f"{name.lstrip('-')}__{'lt' if name.startswith('-') else 'gt'}"
        steps.append(Q(**same, **{beyond: position[depth]}))
    return reduce(Q.__or__, steps)


def _key(row: Model, order: Sequence[str]) -> str:
    values = [getattr(row, name.lstrip("-")) for name in order]
    return base64.urlsafe_b64encode(json.dumps(values).encode()).decode().rstrip("=")


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
