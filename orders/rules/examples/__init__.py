"""Orders that trip a rule, just pass it, or lack what it looks at, written as changes to one clean order.

The page "What we check" shows them, and the tests run every one. Each family has a TOML file of the same name. A
case says which rule it is for, what it shows, what to expect, and what differs from ``order.json`` and
``catalogue.json`` (lists of things with an id are changed by that id). This module must never judge.
"""

from __future__ import annotations

import copy
import json
import tomllib
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Literal

from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.documents.lens_order import LensOrder, parse_order

HERE = Path(__file__).parent
FAMILIES = HERE.parent / "families"

Kind = Literal["trips", "passes", "absent"]


@dataclass(frozen=True)
class Example:
    """One order for one rule.

    kind: `trips` it, just `passes` it, or has the facts `absent`. level, eye: of the finding expected, None for
    silence (or a finding not about an eye). found, limit, unit: what the finding compares, to four decimal places,
    None for whatever it does not have. The rest: what differs from the clean order and catalogue, which keys are
    null, and which other orders it is compared with.
    """

    rule: str
    kind: Kind
    says: str
    level: str | None = None
    eye: str | None = None
    found: float | str | None = None
    limit: float | str | None = None
    unit: str | None = None
    set: dict[str, Any] = field(default_factory=dict)
    null: tuple[str, ...] = ()
    catalogue: dict[str, Any] = field(default_factory=dict)
    catalogue_null: tuple[str, ...] = ()
    others: tuple[dict[str, Any], ...] = ()

    def order(self) -> LensOrder:
        """The order of this case."""
        return parse_order(json.dumps(_changed(_base("order"), self.set, self.null)))

    def lens_catalogue(self) -> LensCatalogue:
        """The catalogue it is checked against."""
        return parse_catalogue(json.dumps(_changed(_base("catalogue"), self.catalogue, self.catalogue_null)))

    def other_orders(self) -> tuple[LensOrder, ...]:
        """The orders it is compared with, each written as a change to this case's own order."""
        own = _changed(_base("order"), self.set, self.null)
        return tuple(parse_order(json.dumps(_changed(own, changes, ()))) for changes in self.others)


@cache
def all_examples() -> tuple[Example, ...]:
    """Every case of every family."""
    return tuple(_example(row) for path in sorted(FAMILIES.glob("*.toml")) for row in _rows(path))


def examples_of(rule: str) -> tuple[Example, ...]:
    """The cases for one rule, those that trip it first."""
    order = ("trips", "passes", "absent")
    return tuple(sorted((e for e in all_examples() if e.rule == rule), key=lambda e: order.index(e.kind)))


def clean_order() -> LensOrder:
    """The order that all cases start from: nothing to find in it."""
    return parse_order(json.dumps(_base("order")))


def example_catalogue() -> LensCatalogue:
    """The catalogue that all cases start from."""
    return parse_catalogue(json.dumps(_base("catalogue")))


def _rows(path: Path) -> list[dict[str, Any]]:
    with path.open("rb") as file:
        rows: list[dict[str, Any]] = tomllib.load(file)["case"]
    return rows


def _example(row: dict[str, Any]) -> Example:
    lists: dict[str, Any] = {key: tuple(row[key]) for key in ("null", "catalogue_null", "others") if key in row}
    return Example(**(row | lists))


@cache
def _text(name: str) -> str:
    return (HERE / f"{name}.json").read_text(encoding="utf-8")


def _base(name: str) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(_text(name))
    return document


def _changed(document: dict[str, Any], changes: dict[str, Any], null: tuple[str, ...]) -> dict[str, Any]:
    result = copy.deepcopy(document)
    _merge(result, changes)
    for path in null:
        *parents, last = path.split(".")
        target: Any = result
        for step in parents:
            target = _child(target, step)
        target[last] = None
    return result


def _merge(target: Any, changes: dict[str, Any]) -> None:
    for key, value in changes.items():
        if isinstance(value, dict) and isinstance(_child(target, key), (dict, list)):
            _merge(_child(target, key), value)
        else:
            # TOML has its own date type; a document holds dates as text.
            target[key] = value.isoformat() if hasattr(value, "isoformat") else value


def _child(target: Any, key: str) -> Any:
    """A member by its key; in a list, the thing with that id."""
    if isinstance(target, list):
        return next(item for item in target if item["id"] == key)
    return target.get(key)
