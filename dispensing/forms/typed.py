"""Values as a person would type them into a page's form, so that one form judges everything, whatever its route."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import models
from django.http import QueryDict

SIGNED = frozenset({"sphere", "cylinder"})
POWERS = SIGNED | {"add", "intermediate_add"}


def usual(model: type[models.Model], names: Iterable[str]) -> dict[str, Any]:
    """The values a new record starts from, whoever makes it: the model's own defaults."""
    fields = [field for field in model._meta.fields if field.name in set(names) and field.has_default()]
    return {field.name: field.get_default() for field in fields}


def typed(values: Mapping[str, Any], prefix: str = "", into: QueryDict | None = None) -> QueryDict:
    """``{"sphere": -3.25}`` → ``sphere=-3.25``; with a prefix ``right-sphere=-3.25``.

    None and False become an empty field; a list becomes a field with several values. ``into``: what was typed into
    other forms of the same page, to add to.
    """
    data = QueryDict(mutable=True) if into is None else into
    for name, value in values.items():
        several = value if isinstance(value, list | tuple) else [value]
        texts = [_text(name, one) for one in several if one is not None and one is not False]
        if texts:
            data.setlist(f"{prefix}-{name}" if prefix else name, texts)
    return data


YES_NO_NOT_ASKED = [("", "Not asked"), ("yes", "Yes"), ("no", "No")]
"""What a list offers for what the patient says, of which nothing is taken to be chosen."""


def yes_or_no(value: bool | None) -> str:
    """The value that stands for this in such a list."""
    return {True: "yes", False: "no", None: ""}[value]


def said(chosen: str) -> bool | None:
    """What was chosen in such a list."""
    return {"yes": True, "no": False}.get(chosen)


def plain_number(value: int | float | Decimal) -> str:
    """The shortest way to write a number without an exponent: ``31.5``, ``3``."""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return str(value) if isinstance(value, int) else f"{Decimal(str(value)):f}"


def _text(name: str, value: Any) -> str:
    if value is True:
        return "on"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float | Decimal):
        return _signed(name, value)
    return str(value)


def _signed(name: str, value: int | float | Decimal) -> str:
    """A number is always written with its sign, plus included. Text is never given a sign it did not have."""
    text = plain_number(value)
    if name in POWERS and text.lstrip("-").isdecimal():
        text += ".00"
    return f"+{text}" if name in SIGNED and value > 0 else text
