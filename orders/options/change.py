"""A change to an order as a small patch: the document's own keys and their new values, as in JSON.

``{"lenses.right.corridor_mm": 11}``. The order document itself defines the allowed values. This module must never
know whether a change is a good one.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from dispensing.documents import DocumentPart
from orders.documents.lens_order import LensOrder

Change = Mapping[str, Any]

DRAFT_KEYS = frozenset({"needed_on", "supply", "frame.source", "use", "power_basis"})
"""What a draft itself decides besides the lenses; everything else is a record of its own and is changed there."""


class NoSuchKey(ValueError):
    """The change names a key that an order does not have, or gives it a value that it cannot have."""

    def __init__(self, path: str, why: str = "no such key"):
        self.path = path
        super().__init__(f"{path}: {why}")


def changed(order: LensOrder, change: Change) -> LensOrder:
    """The order with the change made; the original is left as it is. Raises `NoSuchKey`."""
    result: DocumentPart = order
    for path, value in change.items():
        result = _with(result, path, path.split("."), value)
    assert isinstance(result, LensOrder)
    return result


def is_of_the_draft(change: Change) -> bool:
    """Whether everything changed is held in the draft; frame, fitting and prescription are records elsewhere."""
    return all(path.startswith("lenses.") or path in DRAFT_KEYS for path in change)


def _with(part: Any, path: str, steps: list[str], value: Any) -> Any:
    name, *rest = steps
    if not isinstance(part, DocumentPart) or name not in type(part).model_fields:
        raise NoSuchKey(path)
    new = _with(getattr(part, name), path, rest, value) if rest else _typed(type(part), name, path, value)
    return part.model_copy(update={name: new})


def _typed(model: type[DocumentPart], name: str, path: str, value: Any) -> Any:
    """The value as the document holds it: a list becomes a tuple, and a date in text becomes a date."""
    try:
        return _adapter(model, name).validate_json(json.dumps(value))
    except ValidationError as error:
        raise NoSuchKey(path, error.errors()[0]["msg"]) from error


@cache
def _adapter(model: type[DocumentPart], name: str) -> TypeAdapter[Any]:
    annotation: Any = model.model_fields[name].annotation
    return TypeAdapter(annotation)
