"""Rows in order of a figure, and those that a filter leaves. What is not known comes last and never counts as zero.

The figure counts as it is shown, so that rows that read alike are ties and keep their sequence. Pure.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from orders.documents.lens_order import Eye
from orders.options.lenses.bodies import Body
from orders.options.lenses.comparison import LensRow
from orders.options.lenses.judged import VERDICTS
from orders.options.lenses.judged_row import JudgedRow
from orders.options.lenses.meaning import earliest_promise

TENTH, CENT = 1, 2
"""Decimal places in which figures are shown."""


AnyRow = TypeVar("AnyRow", bound=JudgedRow)


@dataclass(frozen=True)
class Ranked(Generic[AnyRow]):
    """place: 1 for the first, alike for ties; None if the figure is not known. is_tied: whether others share it."""

    row: AnyRow
    place: int | None
    is_tied: bool


Figure = Callable[[LensRow], float | None]


def of_pair(of_body: Callable[[Body], float]) -> Callable[[JudgedRow], float | None]:
    """The greater of both lenses as shown; None unless every lens ordered has a body."""

    def of_row(row: JudgedRow) -> float | None:
        eyes: tuple[Eye, ...] = row.table.order.ordered_eyes
        bodies = [row.body(eye) for eye in eyes]
        known = [of_body(body) for body in bodies if body is not None]
        return round(max(known), TENTH) if known and len(known) == len(bodies) else None

    return of_row


def weight(row: JudgedRow) -> float | None:
    """Of both lenses in g, as shown."""
    return None if row.weight_pair_g is None else round(row.weight_pair_g, TENTH)


def thickest(row: JudgedRow) -> float | None:
    """The thickest place of the pair in mm, as shown."""
    return _thickest(row)


_thickest = of_pair(lambda body: max(body.edge_max_mm, body.centre_thickness_mm))


def verdict(row: JudgedRow) -> float:
    """The better the less, so that the best comes first."""
    return float(len(VERDICTS) - VERDICTS.index(row.verdict))


def _price(row: LensRow) -> float | None:
    return None if row.cost is None else round(float(row.cost.total), CENT)


def _promise(row: LensRow) -> float | None:
    day = earliest_promise(row.case)
    return None if day is None else float(day.toordinal())


FIGURES: Mapping[str, Figure] = {
    "thickest": thickest,
    "edge": of_pair(lambda body: body.edge_max_mm),
    "centre": of_pair(lambda body: body.centre_thickness_mm),
    "weight": weight,
    "blank": lambda row: row.offer.blank_mm,
    "price": _price,
    "promise": _promise,
    "verdict": verdict,
}
"""What rows can be put in order of; the least first, for the verdict the best."""


def ranked(rows: Sequence[LensRow], by: str, *, greatest_first: bool = False) -> tuple[Ranked[LensRow], ...]:
    """The rows in order of a figure in FIGURES. Prices in different currencies cannot be compared: those in another
    than the commonest come last, as unknown.
    """
    return in_order(rows, _values(rows, by), greatest_first=greatest_first)


def in_order(
    rows: Sequence[AnyRow], values: Sequence[float | None], *, greatest_first: bool = False
) -> tuple[Ranked[AnyRow], ...]:
    """The rows in order of their values, those without one last; ties keep their sequence."""
    known = [(value, row) for value, row in zip(values, rows, strict=True) if value is not None]
    unknown = [row for value, row in zip(values, rows, strict=True) if value is None]
    known.sort(key=lambda pair: pair[0], reverse=greatest_first)
    count = Counter(value for value, _ in known)
    places: dict[float, int] = {}
    for number, (value, _) in enumerate(known, start=1):
        places.setdefault(value, number)
    return (
        *(Ranked(row, places[value], count[value] > 1) for value, row in known),
        *(Ranked(row, None, False) for row in unknown),
    )


def _values(rows: Sequence[LensRow], by: str) -> list[float | None]:
    values = [FIGURES[by](row) for row in rows]
    if by != "price":
        return values
    currencies = Counter(row.price.currency for row in rows if row.price is not None)
    most = currencies.most_common(1)
    return [
        value if row.price is not None and most and row.price.currency == most[0][0] else None
        for value, row in zip(values, rows, strict=True)
    ]


FILTERS: Mapping[str, Callable[[LensRow], bool]] = {
    "clear": lambda row: row.verdict in ("clear", "note"),
    "makeable": lambda row: row.can_be_made,
    "impact_resistant": lambda row: row.offer.material.impact_resistant is True,
    "drillable": lambda row: row.offer.material.drillable is True,
}
"""Yes-or-no filters by name; what the catalogue does not say is no."""


def left_by(rows: Sequence[LensRow], filters: Sequence[str], lab: str | None = None) -> tuple[LensRow, ...]:
    """The rows that pass every filter named, of one lab if one is named."""
    return tuple(
        row
        for row in rows
        if (lab is None or row.offer.catalogue.lab == lab) and all(FILTERS[name](row) for name in filters)
    )


def counts(rows: Sequence[LensRow]) -> dict[str, int]:
    """How many rows each filter would leave."""
    return {name: sum(map(passes, rows)) for name, passes in FILTERS.items()}
