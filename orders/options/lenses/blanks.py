"""One row for lenses that differ only in their blank: to whoever wears it, three sizes of blank are one lens. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from orders.options.lenses.comparison import LensRow
from orders.options.lenses.judged import VERDICTS
from orders.options.lenses.offers import VARIED


def one_blank_each(rows: Sequence[LensRow]) -> list[LensRow]:
    """Of those that differ only in their blank, the one the check has least against, and of these the smallest."""
    best: dict[tuple[object, ...], LensRow] = {}
    for row in rows:
        offer = row.offer
        key = (id(offer.catalogue), *(offer.choice[name] for name in VARIED if name != "blank_mm"))
        best[key] = min(best.get(key, row), row, key=_against)
    return list(best.values())


def _against(row: LensRow) -> tuple[int, float]:
    return -VERDICTS.index(row.verdict), row.offer.blank_mm or 0.0
