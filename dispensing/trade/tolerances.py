"""The standards by which a finished pair is judged: which row holds for a lens, and how far a reading may be off.

The figures are in ``data/finished``, a file for each edition. A practice may set any of them lower, never higher. This
module must never know an order, a reading or a verdict.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from math import inf
from typing import Any, Literal, get_args

from dispensing.trade.facts import STANDARDS, Fact, Origin, fact_named, standard_table

LensClass = Literal["single_vision", "multifocal", "progressive"]
Judged = Literal[
    "meridian",
    "cylinder",
    "axis",
    "add",
    "prism_horizontal",
    "prism_vertical",
    "height",
    "heights_pair",
    "pd",
    "centre_thickness",
    "base_curve",
]
MAGNITUDES = ("power", "cylinder", "add", "prism")
FROM_MEMORY = "from memory, check against your copy of the standard"
NOISE = 1e-9  # binary leftovers of 3.25 - 3.12


@dataclass(frozen=True, slots=True)
class Band:
    """The magnitudes for which a row holds: above ``over``, from ``least``, and up to ``most``; none is negative."""

    over: float = -inf
    least: float = 0.0
    most: float = inf

    def holds(self, magnitude: float) -> bool:
        return magnitude > self.over + NOISE and self.least - NOISE <= magnitude <= self.most + NOISE


@dataclass(frozen=True)
class ToleranceRow:
    """One limit of a standard. limit: the standard's own figure; value: the one in force, lower if a practice says so.

    mounted: None where it makes no difference whether the lens is in a frame. plus_pd and plus_mm are added to the
    value, or_mm stands in for it where it is more; all of them belong to limits of prism.
    """

    limit: Fact
    quantity: Judged
    lenses: frozenset[str]
    origin: Origin
    value: float
    mounted: bool | None = None
    bands: Mapping[str, Band] = field(default_factory=dict)
    plus_pd: float = 0.0
    plus_mm: float = 0.0
    or_mm: float = 0.0

    @property
    def is_confirmed(self) -> bool:
        """Whether the figure was read off the standard itself or what its publisher says of it."""
        return self.origin.grade == "standard"

    @property
    def is_own(self) -> bool:
        """Whether a practice set it lower."""
        return self.value < self.limit.value

    @property
    def is_a_shift(self) -> bool:
        """Whether the limit is a length although its quantity is a prism."""
        return self.limit.unit == "mm"

    @property
    def written(self) -> str:
        """The figure in force with its unit."""
        return self.limit.written(self.value)

    def allowed(self, magnitude: float) -> float:
        """How far a reading may be off, in the quantity's own unit; a percentage is of ``magnitude``."""
        return self.value * magnitude / 100.0 if self.limit.unit == "%" else self.value

    def allowed_prism_pd(self, power_d: float) -> float:
        """How far a prism may be off, Δ, in a lens of this power along it: a shift brings power times length in cm."""
        per_mm = abs(power_d) / 10.0
        value_pd = self.value * per_mm if self.is_a_shift else self.value
        return max(value_pd + self.plus_pd + self.plus_mm * per_mm, self.or_mm * per_mm)

    def holds(self, kind: LensClass, mounted: bool, magnitudes: Mapping[str, float]) -> bool:
        if kind not in self.lenses or self.mounted not in (None, mounted):
            return False
        return all(band.holds(magnitudes.get(name, 0.0)) for name, band in self.bands.items())


@dataclass(frozen=True)
class ToleranceSet:
    """One edition of a standard. judges: the figures of a power that it holds to a limit."""

    id: str
    title: str
    edition: str
    judges: tuple[str, ...]
    rows: tuple[ToleranceRow, ...]

    def row(
        self, quantity: Judged, kind: LensClass, *, mounted: bool = True, **magnitudes: float
    ) -> ToleranceRow | None:
        """The row for a lens of this kind and these magnitudes (power, cylinder, add, prism), or None."""
        rows = (row for row in self.rows if row.quantity == quantity)
        return next((row for row in rows if row.holds(kind, mounted, magnitudes)), None)

    def named(self, name: str) -> ToleranceRow:
        """The row of this name; KeyError if there is none."""
        for row in self.rows:
            if row.limit.name == name:
                return row
        raise KeyError(name)

    def tightened(self, own: Mapping[str, float]) -> ToleranceSet:
        """The set with a practice's own figures, by the names of the rows; any that is not lower is left out."""
        return replace(self, rows=tuple(_tightened(row, own.get(row.limit.name)) for row in self.rows))


def _tightened(row: ToleranceRow, own: float | None) -> ToleranceRow:
    return replace(row, value=own) if own is not None and 0.0 <= own < row.value else row


@cache
def tolerance_set(standard: str) -> ToleranceSet:
    """The set of one of :data:`STANDARDS`; KeyError for any other name."""
    if standard not in STANDARDS:
        raise KeyError(standard)
    table = standard_table(standard)
    rows = tuple(_row(standard, group, row, table) for group in table["group"] for row in group["rows"])
    return ToleranceSet(standard, table["title"], table["edition"], tuple(table["judges"]), rows)


def tolerance_sets(own: Mapping[str, Mapping[str, float]] | None = None) -> Iterable[ToleranceSet]:
    """Every set, with a practice's own figures by the name of the set."""
    return (tolerance_set(standard).tightened((own or {}).get(standard, {})) for standard in STANDARDS)


def _row(standard: str, group: dict[str, Any], row: dict[str, Any], table: dict[str, Any]) -> ToleranceRow:
    limit = fact_named(standard, row["name"])
    if limit is None or group["quantity"] not in get_args(Judged):
        raise KeyError(f"{standard} {row['name']}")
    return ToleranceRow(
        limit=limit,
        quantity=group["quantity"],
        lenses=frozenset(group["lenses"]),
        origin=Origin(group["source"], group["grade"], table["since"]),
        value=limit.value,
        mounted=group.get("mounted"),
        bands={name: band for name in MAGNITUDES if (band := _band(row, name)) != Band()},
        **{name: row[name] for name in ("plus_pd", "plus_mm", "or_mm") if name in row},
    )


def _band(row: dict[str, Any], name: str) -> Band:
    return Band(row.get(f"{name}_over", -inf), row.get(f"{name}_from", 0.0), row.get(f"{name}_to", inf))
