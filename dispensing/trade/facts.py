"""Reading the table of facts: a figure with its unit, wording, stricter side, source and date, by subject and name.

Must never know what a figure is compared with, nor whose practice it is.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any, Literal, get_args

DATA = Path(__file__).parent / "data"
MINUS = "\u2212"

Direction = Literal["lower", "higher"]
Grade = Literal["standard", "law", "handbook", "teaching", "common practice", "memory"]
GRADES: tuple[Grade, ...] = get_args(Grade)

UNITS = {
    "mm": "mm",
    "d": "D",
    "deg": "°",
    "pd": "Δ",
    "percent": "%",
    "years": "years",
    "days": "days",
    "px": "px",
    "cm3": "g/cm³",
    "logmar": "logMAR",
}


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a fact comes from, how far that source can be trusted, and the day it was last reviewed."""

    source: str
    grade: Grade
    since: date

    @classmethod
    def of(cls, row: dict[str, Any]) -> Origin:
        return cls(row["source"], row["grade"], row["since"])

    def __str__(self) -> str:
        return f"{self.source}; reviewed {self.since.day} {self.since:%B %Y}"


@dataclass(frozen=True, slots=True)
class Fact:
    """One figure. ``subject``: the id of a rule, or what the figure is about. ``name`` ends in the unit of ``value``.

    ``label``: what it is, as a dispenser would say it: ``Least above the cross``. ``stricter``: the direction in which
    a practice may set its own; None for a fixed figure.
    """

    subject: str
    name: str
    value: float
    label: str
    stricter: Direction | None = None

    @property
    def unit(self) -> str:
        """The unit as written: ``mm``, ``D``; empty if the name does not end in one."""
        return UNITS.get(self.name.rsplit("_", 1)[-1], "")

    def written(self, value: float | None = None) -> str:
        """The trade's figure, or ``value``, with its unit: ``4 mm``, ``18°``."""
        number = f"{self.value if value is None else value:.6g}".replace("-", MINUS)
        return f"{number}{self.unit}" if self.unit == "°" else f"{number} {self.unit}".rstrip()

    def allows(self, value: float) -> bool:
        """Whether ``value`` is stricter than the trade's figure and still of the same kind (a limit keeps its sign)."""
        if self.stricter is None or value * self.value < 0.0:
            return False
        return value < self.value if self.stricter == "lower" else value > self.value


@dataclass(frozen=True, slots=True)
class Subject:
    """One table of facts: its subject, where the figures come from, and the figures in the order of the file."""

    name: str
    origin: Origin
    facts: tuple[Fact, ...]


@cache
def subjects() -> dict[str, Subject]:
    """Every table of ``facts.toml`` by its name."""
    return {name: _subject(name, table) for name, table in data_file("facts").items()}


def _subject(name: str, table: dict[str, Any]) -> Subject:
    rows = {key: row for key, row in table.items() if isinstance(row, dict)}
    facts = tuple(Fact(name, key, float(row["value"]), row["words"], row.get("stricter")) for key, row in rows.items())
    return Subject(name, Origin.of(table), facts)


@cache
def data_file(name: str) -> dict[str, Any]:
    """The table of ``dispensing/trade/data/NAME.toml``, read once."""
    with (DATA / f"{name}.toml").open("rb") as file:
        return tomllib.load(file)


def facts_of(subject: str) -> tuple[Fact, ...]:
    """The figures of one rule or subject, in the order of the file; empty if it has none."""
    found = subjects().get(subject)
    return found.facts if found else ()


def fact_named(subject: str, name: str) -> Fact | None:
    """The figure of this name for this subject, or None."""
    return _by_name().get((subject, name))


@cache
def figure(subject: str, name: str) -> float:
    """The trade's own figure: ``figure("schematic-eye", "vertex_mm")``. KeyError for an unknown one.

    For figures that no practice can set; for everything else use :class:`dispensing.trade.Limits`.
    """
    return _by_name()[subject, name].value


@cache
def _by_name() -> dict[tuple[str, str], Fact]:
    tables = [*(subject.facts for subject in subjects().values()), *map(limits_of_standard, STANDARDS)]
    return {(fact.subject, fact.name): fact for facts in tables for fact in facts}


STANDARDS = ("iso-21987-2017", "ansi-z80.1-2015", "ansi-z80.1-2020")
"""The standards for a finished pair, by the names of their files in ``data/finished``."""


@cache
def limits_of_standard(standard: str) -> tuple[Fact, ...]:
    """The limits of a standard for a finished pair, in the order of its file; a practice may set each lower."""
    table = standard_table(standard)
    rows = (row for group in table["group"] for row in group["rows"])
    return tuple(Fact(standard, row["name"], float(row["value"]), row["words"], "lower") for row in rows)


@cache
def standard_table(standard: str) -> dict[str, Any]:
    """The table of a standard; that of an edition with the figures of another has their groups and its own origin."""
    table = data_file(f"finished/{standard}")
    if "same_as" not in table:
        return table
    own = {key: table[key] for key in ("source", "grade")}
    other = standard_table(table["same_as"])
    return {**other, **table, "group": [{**group, **own} for group in other["group"]]}
