"""Reads the bad and the clean orders: each is a good order with some keys changed.

A path is dotted (``prescription.right.add``); ``*`` stands for both eyes. This knows documents, and nothing of the
rules.
"""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.documents.lens_order import LensOrder, parse_order

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Written:
    """One row: the order, the orders that lie beside it, and what a good dispenser would say or why he is silent."""

    id: str
    theme: str
    order: LensOrder
    beside: tuple[LensOrder, ...]
    says: str
    speaks_of: tuple[str, ...] = ()
    level: str = ""


@cache
def catalogue() -> LensCatalogue:
    return parse_catalogue((HERE / "catalogue.json").read_text())


def bad_orders() -> tuple[Written, ...]:
    return tuple(
        _written(row, table["theme"], row["says"])
        for table in map(_table, sorted((HERE / "rows").glob("*.toml")))
        for row in table["order"]
    )


def clean_orders() -> tuple[Written, ...]:
    return tuple(_written(row, row["theme"], row["why"]) for row in _table(HERE / "clean.toml")["order"])


def _table(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _written(row: Mapping[str, Any], theme: str, says: str) -> Written:
    order = changed(_base(row["base"]), row.get("set", {}), row.get("null", ()))
    beside = tuple(parse_order(json.dumps(changed(order, changes, ()))) for changes in row.get("beside", ()))
    return Written(
        id=row["id"],
        theme=theme,
        order=parse_order(json.dumps(order)),
        beside=beside,
        says=says,
        speaks_of=tuple(row.get("speaks_of", ())),
        level=row.get("level", ""),
    )


@cache
def _base_text(name: str) -> str:
    return (HERE / f"base_{name}.json").read_text()


def _base(name: str) -> dict[str, Any]:
    base: dict[str, Any] = json.loads(_base_text(name))
    return base


def changed(order: Mapping[str, Any], changes: Mapping[str, Any], emptied: Sequence[str]) -> dict[str, Any]:
    """A copy with these keys set and these made null. A path that leads through nothing is an error of the row."""
    copied = copy.deepcopy(dict(order))
    for path, value in [*changes.items(), *((path, None) for path in emptied)]:
        for one in both_eyes(path):
            _put(copied, one.split("."), copy.deepcopy(value))
    return copied


def both_eyes(path: str) -> list[str]:
    return [path.replace("*", eye) for eye in ("right", "left")] if "*" in path else [path]


def _put(part: dict[str, Any], steps: Sequence[str], value: Any) -> None:
    for step in steps[:-1]:
        part = part[step]
    part[steps[-1]] = value
