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

HELD_OUT = HERE / "held_out"
"""A second set with bases of its own, on which no rule is tuned: it shows whether the check generalises."""


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


def bad_orders(folder: Path = HERE) -> tuple[Written, ...]:
    return tuple(
        _written(folder, row, table["theme"], row["says"])
        for table in map(_table, sorted((folder / "rows").glob("*.toml")))
        for row in table["order"]
    )


def clean_orders(folder: Path = HERE) -> tuple[Written, ...]:
    rows = _table(folder / "clean.toml")["order"]
    return tuple(_written(folder, row, row["theme"], row["why"]) for row in rows)


def _table(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _written(folder: Path, row: Mapping[str, Any], theme: str, says: str) -> Written:
    order = changed(_base(folder / f"base_{row['base']}.json"), row.get("set", {}), row.get("null", ()))
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
def _base_text(file: Path) -> str:
    return file.read_text()


def _base(file: Path) -> dict[str, Any]:
    base: dict[str, Any] = json.loads(_base_text(file))
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
