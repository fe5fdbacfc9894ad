"""JSON judged by the page's form. Only the type of a value is checked here; the form decides if it can be right."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, TypeVar

from django.db import models
from django.forms import BaseForm
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.fields import SkipField, empty

from dispensing.documents import DAY_PATTERN, InvalidDocument

Faults = dict[str, list[str]]
Record = TypeVar("Record", bound=models.Model)


class LeftToTheForm(serializers.Field[Any, Any, Any, Any]):
    """A field that the form judges. The API description says whether it is required; the form reports it if missing."""

    def validate_empty_values(self, data: Any) -> tuple[bool, Any]:
        if self.read_only:
            return super().validate_empty_values(data)
        if data is empty:
            raise SkipField
        return (True, None) if data is None else (False, data)


@extend_schema_field({"type": "number"})
class Figure(LeftToTheForm):
    """A figure: a JSON number, or text as a person would write it."""

    default_error_messages = {"invalid": "Give a number here."}

    def __init__(self, *, max_digits: int | None = None, decimal_places: int | None = None, **kwargs: Any):
        for limit in ("max_value", "min_value"):
            kwargs.pop(limit, None)
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> int | float | str:
        if isinstance(data, bool) or not isinstance(data, int | float | str):
            self.fail("invalid")
        return data

    def to_representation(self, value: Any) -> float | int:
        return float(value) if isinstance(value, Decimal) else value


@extend_schema_field({"type": "integer"})
class Count(Figure):
    """A whole number."""


class Words(LeftToTheForm, serializers.CharField):
    """Text."""

    def __init__(self, **kwargs: Any):
        kwargs.pop("max_length", None)
        super().__init__(**kwargs)

    def run_validation(self, data: Any = empty) -> Any:
        return "" if isinstance(data, str) and not data.strip() else super().run_validation(data)


class Word(LeftToTheForm, serializers.ChoiceField):
    """One of the words that the description lists."""

    default_error_messages = {"no_word": "Give one of the words listed."}

    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("no_word")
        return data


class Day(LeftToTheForm, serializers.DateField):
    """A day, in the one format that JSON documents use."""

    default_error_messages = {"invalid": "Write the day as YYYY-MM-DD; it must be a day of the calendar."}

    def to_internal_value(self, value: Any) -> date:
        if not isinstance(value, str) or not value.isascii() or not re.fullmatch(DAY_PATTERN, value):
            self.fail("invalid")
        return super().to_internal_value(value)


class NoUnknownKeys(serializers.Serializer[Any]):
    """An unknown key is a fault: if it were misspelt, its value would be lost silently."""

    def to_internal_value(self, data: Any) -> Any:
        unknown = set(data) - set(self.fields) if isinstance(data, Mapping) else ()
        if unknown:
            raise serializers.ValidationError({str(name): "Unknown key." for name in sorted(unknown)})
        return super().to_internal_value(data)


class JudgedByForm(NoUnknownKeys, serializers.ModelSerializer[Record]):
    """Reads JSON and leaves every judgement about optics and dispensing to a form."""

    serializer_choice_field = Word
    serializer_field_mapping = {
        **serializers.ModelSerializer.serializer_field_mapping,
        models.DecimalField: Figure,
        models.PositiveSmallIntegerField: Count,
        models.CharField: Words,
        models.TextField: Words,
        models.EmailField: Words,
        models.DateField: Day,
    }


def faults_of(form: BaseForm, prefix: str = "", names: Mapping[str, str] | None = None) -> Faults:
    """The form's errors by JSON path. ``names``: the fields whose key in JSON differs from their name on the page."""
    told: Faults = {}
    for name, errors in form.errors.items():
        key = "non_field_errors" if name == "__all__" else (names or {}).get(name, name)
        path = f"{prefix}.{key}" if prefix else key
        told.setdefault(path, []).extend(str(error) for error in errors)
    return told


def faults_in_document(refused: InvalidDocument, prefix: str = "") -> Faults:
    """The faults of one of our documents, by their path in the body. ``prefix``: the key that holds the document."""
    told: Faults = {}
    for fault in refused.faults:
        path = ".".join(part for part in (prefix, fault.path.removeprefix("$").removeprefix(".")) if part)
        told.setdefault(path or "non_field_errors", []).append(fault.message)
    return told


def refuse(faults: Faults) -> None:
    """Raise the faults in the API's form; does nothing if there are none."""
    if faults:
        raise serializers.ValidationError(faults)
