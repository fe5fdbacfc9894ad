"""JSON values as a person would type them into the page's form, so that one form judges both."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any, TypeVar

from django.db import models
from django.forms import BaseForm
from django.http import QueryDict
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

Record = TypeVar("Record", bound=models.Model)

SIGNED = frozenset({"sphere", "cylinder"})
POWERS = SIGNED | {"add", "intermediate_add"}


@extend_schema_field({"type": "number"})
class Figure(serializers.Field[Any, Any, Any, Any]):
    """A figure: a JSON number, or a text as a person writes it. Whether it can be right is for the page's form."""

    default_error_messages = {"invalid": "A number is wanted here."}

    def __init__(self, *, max_digits: int | None = None, decimal_places: int | None = None, **kwargs: Any):
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> int | float | str:
        if isinstance(data, bool) or not isinstance(data, int | float | str):
            self.fail("invalid")
        return data[:40] if isinstance(data, str) else data

    def to_representation(self, value: Any) -> float | int:
        return float(value) if isinstance(value, Decimal) else value


class Words(serializers.CharField):
    """A text of any length: how much fits is said by the page's form."""

    def __init__(self, **kwargs: Any):
        kwargs.pop("max_length", None)
        super().__init__(**kwargs)


class NoUnknownKeys(serializers.Serializer[Any]):
    """A key that says nothing here is a fault: a misspelt one would silently lose what it was to say."""

    def to_internal_value(self, data: Any) -> Any:
        unknown = set(data) - set(self.fields) if isinstance(data, Mapping) else ()
        if unknown:
            raise serializers.ValidationError({str(name): "Unknown key." for name in sorted(unknown)})
        return super().to_internal_value(data)


class JudgedByForm(NoUnknownKeys, serializers.ModelSerializer[Record]):
    """Reads JSON and leaves every judgement of the trade to a form."""

    serializer_field_mapping = {
        **serializers.ModelSerializer.serializer_field_mapping,
        models.DecimalField: Figure,
        models.CharField: Words,
        models.TextField: Words,
        models.EmailField: Words,
    }


def usual(model: type[models.Model], names: Iterable[str]) -> dict[str, Any]:
    """What a new record starts from, on the page as here: the model's own defaults."""
    fields = [field for field in model._meta.fields if field.name in set(names) and field.has_default()]
    return {field.name: field.get_default() for field in fields}


def yes_or_no(value: Any) -> str | None:
    """A JSON true or false as the form's choice; None where nothing was said."""
    return None if value is None else "yes" if value else "no"


def typed(values: Mapping[str, Any], prefix: str = "", into: QueryDict | None = None) -> QueryDict:
    """``{"sphere": -3.25}`` → ``sphere=-3.25``; with a prefix ``right-sphere=-3.25``. Null is an empty field.

    ``into``: what was typed into other forms of the same page, to add to.
    """
    data = QueryDict(mutable=True) if into is None else into
    for name, value in values.items():
        if value is not None and value is not False:
            data[f"{prefix}-{name}" if prefix else name] = _text(name, value)
    return data


def _text(name: str, value: Any) -> str:
    if value is True:
        return "on"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float | Decimal):
        return _written(name, value)
    return str(value)


def _written(name: str, value: int | float | Decimal) -> str:
    """A JSON number always has its sign: without one it is plus. A text is never given a sign it did not have."""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    text = str(value) if isinstance(value, int) else f"{Decimal(str(value)):f}"
    if name in POWERS and text.lstrip("-").isdecimal():
        text += ".00"
    return f"+{text}" if name in SIGNED and value > 0 else text


def refuse(form: BaseForm, prefix: str = "") -> None:
    """Raise the form's errors as the API tells them; nothing when the form is right."""
    if not form.errors:
        return
    told: dict[str, Any] = {}
    for name, errors in form.errors.items():
        told["non_field_errors" if name == "__all__" else name] = errors
    raise serializers.ValidationError({prefix: told} if prefix else told)
