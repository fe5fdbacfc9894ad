"""A practice's own price list: a CSV file with named columns, read strictly, every faulty row named.

Columns: ``lab``, ``design``, ``material``, ``treatment``, ``blank_mm``, ``per`` (lens or pair), ``amount``,
``currency`` (ISO 4217). An empty cell means any; designs, materials and treatments are given by the catalogue's code or
name. A row with a treatment is what that treatment adds, all others are what the lens itself costs. Pure.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from itertools import product
from typing import Literal

Per = Literal["lens", "pair"]

NEEDED, OPTIONAL = ("amount", "currency"), ("lab", "design", "material", "treatment", "blank_mm", "per")
CURRENCY = re.compile(r"[A-Z]{3}")
AMOUNT = re.compile(r"\d{1,7}([.,]\d{1,3})?")
DIAMETER = re.compile(r"\d{2,3}([.,]\d)?")


@dataclass(frozen=True)
class OwnPrice:
    """One row. Texts are folded to lower case; None is any. line: of the file, from 1."""

    lab: str | None
    design: str | None
    material: str | None
    treatment: str | None
    blank_mm: float | None
    per: Per
    amount: Decimal
    currency: str
    line: int

    @property
    def lens(self) -> tuple[object, ...]:
        """What it prices; no two rows of a list price the same."""
        return self.lab, self.design, self.material, self.treatment, self.blank_mm, self.per

    @property
    def named(self) -> str:
        """What it prices, in words: ``progressive, 1.60, blank 70 mm, a pair``."""
        blank = f"blank {self.blank_mm:g} mm" if self.blank_mm is not None else None
        parts = [part for part in (self.lab, self.design, self.material, self.treatment, blank) if part]
        return ", ".join([*(parts or ["any lens"]), f"a {self.per}"])

    @property
    def written(self) -> str:
        return f"{self.amount} {self.currency}"


@dataclass(frozen=True)
class FaultyRow:
    """line: of the file, from 1; 0 if it is about the whole file."""

    line: int
    says: str

    def __str__(self) -> str:
        return f"Line {self.line}: {self.says}" if self.line else self.says


@dataclass(frozen=True)
class PriceList:
    """The rows that are right, and those that are not. A list with any fault is not used."""

    rows: tuple[OwnPrice, ...]
    faults: tuple[FaultyRow, ...] = ()

    def about(self, design: Iterable[str | None], treatment: Iterable[str | None]) -> list[OwnPrice]:
        """The rows of any of these designs and treatments; None stands for rows that name none."""
        return [row for key in product(treatment, design) for row in self._by_part.get(key, ())]

    @cached_property
    def _by_part(self) -> dict[tuple[str | None, str | None], list[OwnPrice]]:
        found: dict[tuple[str | None, str | None], list[OwnPrice]] = {}
        for row in self.rows:
            found.setdefault((row.treatment, row.design), []).append(row)
        return found


def read_prices(content: bytes) -> PriceList:
    """Read a CSV file with commas or semicolons; with semicolons an amount may have a decimal comma."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        return PriceList((), (FaultyRow(0, f"The file is not UTF-8 text (byte {error.start + 1})."),))
    first = text.partition("\n")[0]
    lines = csv.reader(io.StringIO(text), delimiter=";" if ";" in first else ",", strict=True)
    try:
        table = [(lines.line_num, [cell.strip() for cell in row]) for row in lines]
    except csv.Error as error:
        return PriceList((), (FaultyRow(lines.line_num, f"This is no row of a CSV file: {error}."),))
    return _read(table)


def _read(table: Sequence[tuple[int, list[str]]]) -> PriceList:
    if not table:
        return PriceList((), (FaultyRow(0, "The file is empty."),))
    (_, head), *lines = table
    names = [name.lower() for name in head]
    faults = [FaultyRow(1, says) for says in _of_head(names)]
    if faults:
        return PriceList((), tuple(faults))
    rows: list[OwnPrice] = []
    seen: dict[tuple[object, ...], int] = {}
    for number, cells in lines:
        if not any(cells):
            continue
        row, wrong = _row(number, names, cells)
        faults += (FaultyRow(number, says) for says in wrong)
        if row is not None and row.lens in seen:
            faults.append(FaultyRow(number, f"It prices the same as line {seen[row.lens]}: {row.named}."))
        elif row is not None:
            seen[row.lens] = number
            rows.append(row)
    if not rows and not faults:
        faults.append(FaultyRow(0, "The file has no prices."))
    return PriceList(tuple(rows), tuple(faults))


def _of_head(names: Sequence[str]) -> Iterator[str]:
    for name in NEEDED:
        if name not in names:
            yield f"There is no column “{name}”."
    for name in dict.fromkeys(names):
        if name not in (*NEEDED, *OPTIONAL):
            yield f"“{name}” is no column of a price list; those are {', '.join((*OPTIONAL, *NEEDED))}."
        elif names.count(name) > 1:
            yield f"The column “{name}” appears twice."


def _row(line: int, names: Sequence[str], cells: Sequence[str]) -> tuple[OwnPrice | None, list[str]]:
    if len(cells) != len(names):
        return None, [f"It has {len(cells)} cells; the heading has {len(names)}."]
    given = dict(zip(names, cells, strict=True))
    wrong = list(_wrong(given))
    if wrong:
        return None, wrong
    blank = given.get("blank_mm")
    return OwnPrice(
        lab=_text(given, "lab"),
        design=_text(given, "design"),
        material=_text(given, "material"),
        treatment=_text(given, "treatment"),
        blank_mm=float(blank.replace(",", ".")) if blank else None,
        per="pair" if given.get("per", "").lower() == "pair" else "lens",
        amount=Decimal(given["amount"].replace(",", ".")),
        currency=given["currency"],
        line=line,
    ), []


def _wrong(given: Mapping[str, str]) -> Iterator[str]:
    if not AMOUNT.fullmatch(given["amount"]):
        yield f"The amount “{given['amount']}” is not a price; write it as in 128.50."
    if not CURRENCY.fullmatch(given["currency"]):
        yield f"The currency “{given['currency']}” is not three capital letters (ISO 4217), as in EUR."
    if given.get("per", "").lower() not in ("", "lens", "pair"):
        yield f"“{given['per']}” under “per” is neither lens nor pair."
    blank = given.get("blank_mm", "")
    if blank and not DIAMETER.fullmatch(blank):
        yield f"The blank “{blank}” is not a diameter in mm."


def _text(given: Mapping[str, str], name: str) -> str | None:
    return given.get(name, "").casefold() or None
