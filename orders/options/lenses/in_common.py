"""What the check says of every lens alike, taken apart from what it says of one lens and not of another. Pure.

A draft that does not say yet what the lab is to supply is stopped whichever lens is taken. Said of each lens, it would
hide what tells them apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

import numpy as np

from orders.documents.lens_option import OptionFinding
from orders.options.lenses.columns import Column
from orders.options.lenses.judged import CLEAR, Judged, Said
from orders.options.lenses.judged_row import JudgedRow

AnyRow = TypeVar("AnyRow", bound=JudgedRow)


@dataclass(frozen=True)
class Apart(Generic[AnyRow]):
    """common: what is found with every row, in the order of the report. rows: the rows without it."""

    common: tuple[OptionFinding, ...]
    rows: tuple[AnyRow, ...]
    said: tuple[Said, ...]

    def of(self, row: AnyRow) -> AnyRow:
        """Another row for the same order, without what those compared have in common."""
        return replace(row, judged=_without(row.judged, self.said))


def apart(rows: Sequence[AnyRow]) -> Apart[AnyRow]:
    """What all rows have in common, and the rows without it. One lens alone has nothing in common with others."""
    judged = list({id(row.judged): row.judged for row in rows}.values())
    if len(rows) < 2:
        return Apart((), tuple(rows), ())
    first, *others = [[column.answers[0] for column in one.by_rule if _is_alike(column)] for one in judged]
    said = tuple(answer for answer in first if all(answer in alike for alike in others))
    left = {id(one): _without(one, said) for one in judged}
    common = tuple(finding for found, _ in said for finding in found)
    return Apart(common, tuple(replace(row, judged=left[id(row.judged)]) for row in rows), said)


def _is_alike(column: Column) -> bool:
    return all(answer == column.answers[0] for answer in column.answers)


def _without(judged: Judged, said: Sequence[Said]) -> Judged:
    left = [column for column in judged.by_rule if not (_is_alike(column) and column.answers[0] in said)]
    places = np.full(judged.places.shape, CLEAR, dtype=np.intp)
    for column in left:
        worst = np.array([place for _, place in column.answers], dtype=np.intp)
        np.minimum(places, worst[column.groups], out=places)
    return Judged(left, places)
