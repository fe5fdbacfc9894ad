"""The whole database before and after: which rows an action changed, removed and added."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db.models import F, Model

from tests.bystanders.world import HOUSEHOLDS, World
from tests.known import there

APPS = ("dispensing", "orders", "knox", "otp_totp", "otp_static", "django_otp_webauthn")
Key = tuple[str, Any]
Rows = dict[Key, dict[str, Any]]


@dataclass(frozen=True)
class Difference:
    """Keys are the class's name and the row's primary key."""

    changed: tuple[Key, ...]
    gone: tuple[Key, ...]
    added: tuple[Key, ...]


def _models() -> dict[str, type[Model]]:
    return {model.__name__: model for app in APPS for model in apps.get_app_config(app).get_models()}


def snapshot() -> Rows:
    return {
        (name, row["pk_"]): row
        for name, model in _models().items()
        for row in model._default_manager.order_by().values(
            *(f.attname for f in model._meta.concrete_fields), pk_=F("pk")
        )
    }


def difference(before: Rows, after: Rows) -> Difference:
    return Difference(
        tuple(key for key, row in after.items() if key in before and before[key] != row),
        tuple(key for key in before if key not in after),
        tuple(key for key in after if key not in before),
    )


def whose(world: World, key: Key, rows: Rows) -> str:
    """The row's name in the world; without one, its class and the household it belongs to."""
    name, pk = key
    known = world.name_of(_models()[name](pk=pk))
    return known if not known.startswith(f"{name} ") else f"{name} of {household(world, key, rows) or 'nobody'}"


def household(world: World, key: Key, rows: Rows) -> str:
    """``ours`` where one of the rows it points at is ours, or theirs; empty where it points at nobody's."""
    name, _ = key
    for column in _models()[name]._meta.concrete_fields:
        target = rows[key].get(column.attname) if column.is_relation else None
        if target is None or column.name in ("actor", "taken_by", "added_by", "created_by", "saved_by"):
            continue
        related = there(column.related_model)
        known = world.name_of(related(pk=target))
        found = known.split(".")[0] if "." in known else household(world, (related.__name__, target), rows)
        if found in HOUSEHOLDS:
            return found
    return ""
