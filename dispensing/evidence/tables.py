"""Which tables are sealed, their rows as they are hashed, and what people call a row."""

from __future__ import annotations

from functools import cache
from typing import Any

from django.apps import apps
from django.db.models import BinaryField, Model, QuerySet

from dispensing.append_only import APPEND_ONLY_TABLES
from dispensing.evidence.chain import Entry, row_hash
from dispensing.models import Seal


@cache
def sealed_models() -> dict[str, type[Model]]:
    """By the name of the table. The seals have a chain of their own: they are it."""
    models = {model._meta.db_table: model for model in apps.get_models()}
    return {table: models[table] for table in APPEND_ONLY_TABLES if models[table] is not Seal}


def between(table: str, after: int, through: int) -> QuerySet[Any, dict[str, Any]]:
    """The rows above ``after`` and up to ``through`` in the order of their keys, with the columns that are hashed."""
    model = sealed_models()[table]
    return model._default_manager.filter(pk__gt=after, pk__lte=through).order_by("pk").values(*_columns(table))


@cache
def _columns(table: str) -> tuple[str, ...]:
    # Bytes are left out: each such column has its hash beside it, which is hashed here.
    fields = sealed_models()[table]._meta.concrete_fields
    return tuple(field.attname for field in fields if not isinstance(field, BinaryField))


def entry(table: str, row: dict[str, Any]) -> Entry:
    return row[_key(table)], row_hash(table, row)


def named(table: str, key: int) -> str:
    """A row in words: ``order event 12 (D-00007 received)``; of one that is gone only what it was."""
    model = sealed_models()[table]
    row = model._default_manager.filter(pk=key).first()
    return f"{model._meta.verbose_name} {key}" + (f" ({row})" if row else "")


@cache
def _key(table: str) -> str:
    pk = sealed_models()[table]._meta.pk
    assert pk is not None
    return pk.attname
