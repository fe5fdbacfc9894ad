"""The dated tables that some rules use, as shown on the "What we check" pages: terms, adds by age, indices.

This module reads the same files as the rules and must never hold a figure of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import Any

from dispensing.prescribing.acuity import in_metres
from dispensing.trade.facts import Origin, data_file
from dispensing.trade.remark_words import Kind, meanings, origin
from orders.rules import words


@dataclass(frozen=True)
class DatedTable:
    """One table. by: what its rows are keyed by. sources: where each figure is from and when it was last reviewed."""

    by: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    sources: tuple[str, ...]


def table_of(rule: str) -> DatedTable | None:
    """The table that a rule uses, if it uses one."""
    made = TABLES.get(rule)
    return made() if made else None


def _terms() -> DatedTable:
    rows = data_file("prescription_validity")["rule"]
    shown = tuple((row["place"], _ages(row) or "all", _term(row), row["level"].capitalize()) for row in rows)
    sources = dict.fromkeys(f"{row['place']}: {Origin.of(row)}" for row in rows)
    return DatedTable("country and state", ("Place", "Age", "Good for", "Says"), shown, tuple(sources))


def _term(row: dict[str, Any]) -> str:
    count = row["months"] // 12
    years = f"{count} year{'s' if count > 1 else ''}"
    return f"{years} where no expiry is printed" if row.get("without_expiry_only") else years


def _ages(row: dict[str, Any]) -> str:
    low, high = row.get("from_years", 0), row.get("to_years", inf)
    if high == inf:
        return f"from {low}" if low else ""
    return f"{low} to {high}" if low else f"to {high}"


def _adds() -> DatedTable:
    data = data_file("add_for_age")
    rows = tuple((_ages(row), f"{words.power(row['low_d'])} to {words.power(row['high_d'])}") for row in data["band"])
    return DatedTable("age", ("Age", "Usual add"), rows, (str(Origin.of(data)),))


def _pds() -> DatedTable:
    data = data_file("pd_by_age")
    rows = tuple(
        (row["who"].capitalize(), f"{words.mm(row['least_mm'])} to {words.mm(row['most_mm'])}") for row in data["band"]
    )
    return DatedTable("age", ("Who", "Usual PD"), rows, (str(Origin.of(data)),))


def _indices() -> DatedTable:
    data = data_file("index_for_power")
    rows = tuple((f"{row['up_to_index']:g}", words.dioptres(row["mean_sphere_d"])) for row in data["index"])
    return DatedTable("index", ("Index up to", "Mean sphere up to"), rows, (str(Origin.of(data)),))


def _driving_sight() -> DatedTable:
    rows = data_file("driving_sight")["rule"]
    shown = tuple((row["place"], row["words"], _for_hire(row)) for row in rows)
    sources = tuple(f"{row['place']}: {Origin.of(row)}" for row in rows)
    return DatedTable("country", ("Place", "Cars, at least", "Lorries and buses, at least"), shown, sources)


def _for_hire(row: dict[str, Any]) -> str:
    better, worse = in_metres(row["for_hire_better"]), in_metres(row["for_hire_worse"])
    return f"{better} in the better eye, {worse} in the other"


def _heard(kind: Kind) -> Callable[[], DatedTable]:
    def table() -> DatedTable:
        rows = dict.fromkeys((one.about.capitalize(), one.question) for one in meanings(kind))
        return DatedTable("words", ("Heard in remarks", "What to do"), tuple(rows), (str(origin()),))

    return table


TABLES: dict[str, Callable[[], DatedTable]] = {
    "prescription-in-date": _terms,
    "add-for-age": _adds,
    "pd-range": _pds,
    "index-for-power": _indices,
    "driving-sight": _driving_sight,
    "doctor-first": _heard("doctor"),
    "eye-hazard": _heard("hazard"),
    "remarks-contradict": _heard("order"),
}
