"""What share of pairs was made again, by whatever they are sorted by, with Wilson's bands. Pure.

Mistakes stand apart from what is nobody's (wear, damage, a changed mind, a new prescription): a share that mixes the
two says nothing about anybody's work.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from orders.causes import CAUSES, NO_MISTAKE, WHOSE, Cause, Whose
from orders.figures.bands import Share


@dataclass(frozen=True, slots=True)
class Made:
    """One pair that was sent to a lab and was no remake itself. ``cause``, ``whose``: of its remake, empty without."""

    number: str
    lab: str
    design: str
    dispenser: str
    mount: str
    cause: str = ""
    whose: str = ""

    @property
    def is_remade(self) -> bool:
        return bool(self.cause)

    @property
    def is_mistake(self) -> bool:
        return self.is_remade and self.cause not in NO_MISTAKE


@dataclass(frozen=True, slots=True)
class Row:
    """One group: all its remakes, and those that somebody's mistake led to."""

    name: str
    remade: Share
    mistakes: Share


BY: dict[str, tuple[str, Callable[[Made], str]]] = {
    "lab": ("Lab", lambda pair: pair.lab),
    "design": ("Design", lambda pair: pair.design),
    "dispenser": ("Dispenser", lambda pair: pair.dispenser),
    "mount": ("Mount", lambda pair: pair.mount),
}


def shares(pairs: Iterable[Made], by: str) -> list[Row]:
    """By name; ``by``: a key of BY."""
    of, rows = BY[by][1], list(pairs)
    names = sorted({of(pair) for pair in rows})
    return [_row(name, [pair for pair in rows if of(pair) == name]) for name in names]


def in_all(pairs: Iterable[Made]) -> Row:
    return _row("All", list(pairs))


def causes(pairs: Iterable[Made]) -> list[tuple[str, str, Share]]:
    """Cause and whose it was in words, with the share of all pairs; the most frequent first."""
    rows = list(pairs)
    counted = Counter((pair.cause, pair.whose) for pair in rows if pair.is_remade)
    return [
        (CAUSES[Cause(cause)], WHOSE[Whose(whose)] if whose else "", Share(count, len(rows)))
        for (cause, whose), count in counted.most_common()
    ]


def _row(name: str, rows: list[Made]) -> Row:
    remade, mistakes = sum(row.is_remade for row in rows), sum(row.is_mistake for row in rows)
    return Row(name, Share(remade, len(rows)), Share(mistakes, len(rows)))
