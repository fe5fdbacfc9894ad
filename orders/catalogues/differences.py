"""What is new, gone and changed in one catalogue against another of the same lab, in words. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from orders.catalogues.figures import KINDS
from orders.catalogues.said import OFFERED, About, Line, Names, Said, said_of
from orders.documents.lens_catalogue import LensCatalogue, PriceRow

How = Literal["new", "gone", "changed"]
HOWS: tuple[How, ...] = ("gone", "changed", "new")
"""What takes something away comes first: it is what touches orders."""


@dataclass(frozen=True)
class Change:
    """about: what kind of thing differs. name: the design, material or treatment it belongs to, by its name. says: what
    differs, in words. kind, id: the part of the catalogue that it is in; empty for a price.
    """

    how: How
    about: About
    name: str
    says: str = ""
    kind: str = ""
    id: str = ""


def differences(now: LensCatalogue, before: LensCatalogue) -> tuple[Change, ...]:
    """Everything in which `now` differs from `before`: what is gone, then what changed, then what is new."""
    names = {(kind, part.id): part.name for one in (before, now) for kind in KINDS for part in getattr(one, kind)}
    found = [change for kind in KINDS for change in _parts(kind, now, before, names)]
    found += _prices(now, before, names)
    return tuple(sorted(found, key=lambda change: HOWS.index(change.how)))


def touches(change: Change, lens: Mapping[str, Any]) -> bool:
    """Whether a change is about the design, the material or a treatment of an ordered lens, and not only a price."""
    if change.how == "new" or change.about == "price":
        return False
    own = {"designs": [lens.get("design")], "materials": [lens.get("material")], "treatments": lens.get("treatments")}
    return change.id in (own.get(change.kind) or ())


def _parts(kind: str, now: LensCatalogue, before: LensCatalogue, names: Names) -> Iterator[Change]:
    new, old = ({part.id: part for part in getattr(one, kind)} for one in (now, before))
    for id, part in old.items():
        if id not in new:
            yield Change("gone", KINDS[kind], part.name, kind=kind, id=id)
    for id, part in new.items():
        if id not in old:
            yield Change("new", KINDS[kind], part.name, kind=kind, id=id)
        else:
            yield from _lines(kind, part, said_of(part, names), said_of(old[id], names))


def _lines(kind: str, part: Any, now: Said, before: Said) -> Iterator[Change]:
    for label in dict.fromkeys((*before, *now)):
        new, old = now.get(label), before.get(label)
        if new is None and old is not None:
            yield Change("gone", old.about, part.name, _with_value(label, old), kind, part.id)
        elif old is None and new is not None:
            yield Change("new", new.about, part.name, _with_value(label, new), kind, part.id)
        elif new is not None and old is not None and new != old:
            says = f"{label}: {old.value}, now {new.value}"
            yield Change("changed", new.about, part.name, says, kind, part.id)


def _with_value(label: str, line: Line) -> str:
    return label if line.value == OFFERED else f"{label}: {line.value}"


def _prices(now: LensCatalogue, before: LensCatalogue, names: Names) -> Iterable[Change]:
    new, old = _priced(now), _priced(before)
    for lens, price in old.items():
        if lens not in new:
            yield Change("gone", "price", _lens(lens, names), price)
        elif new[lens] != price:
            yield Change("changed", "price", _lens(lens, names), f"{price}, now {new[lens]}")
    for lens, price in new.items():
        if lens not in old:
            yield Change("new", "price", _lens(lens, names), price)


Lens = tuple[tuple[str, str | None], ...]


def _priced(catalogue: LensCatalogue) -> dict[Lens, str]:
    return {_of(row): f"{row.amount:.2f} {row.currency}" for row in catalogue.prices if row.amount is not None}


def _of(row: PriceRow) -> Lens:
    return ("designs", row.design), ("materials", row.material), ("treatments", row.treatment)


def _lens(lens: Lens, names: Names) -> str:
    """``Progressive A, 1.60, Anti-reflection``; ``Every lens``."""
    return ", ".join(names.get((kind, id), id) for kind, id in lens if id is not None) or "Every lens"
