"""Figures from photos beside those taken by hand: each with its ±, and whether both can be right."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from dispensing.fitting.combine import disagree
from dispensing.fitting.documents import Figure
from dispensing.fitting.kept import KeptFigure
from dispensing.forms.fitting_rows import ROWS, FittingRow
from dispensing.models import Fitting, Measurement
from dispensing.models.fittings import BY_HAND
from dispensing.services.fittings import FigureTaken


@dataclass(frozen=True)
class PhotoFigure:
    """One figure from the photos. ``hand``: the same figure from the latest fitting by hand in this frame."""

    row: FittingRow
    kept: KeptFigure
    hand: Measurement | None

    @property
    def photo(self) -> Figure:
        return self.kept.figure

    @property
    def eye(self) -> str:
        return self.kept.eye

    @property
    def name(self) -> str:
        return self.row.field(self.eye)

    @property
    def words(self) -> str:
        return self.row.label if self.eye == "both" else f"{self.row.label}, {self.eye}"

    @property
    def difference(self) -> float | None:
        """The photo figure minus the hand figure, in the row's unit."""
        return None if self.hand is None else self.photo.value - float(self.hand.value)

    @property
    def disagrees(self) -> bool:
        if self.hand is None or self.hand.plus_minus is None:
            return False
        by_hand = Figure(value=float(self.hand.value), plus_minus=float(self.hand.plus_minus))
        return disagree(self.photo, by_hand)

    def taken(self) -> FigureTaken:
        """The figure as it is recorded: not rounded, with the ± from the photos and the readings it is made of."""
        figure, readings = self.photo, self.kept.readings
        return FigureTaken(
            self.row.quantity,
            self.eye,
            readings or (figure.value,),
            self.kept.method,
            round(figure.plus_minus, 2),
            figure.value if readings else None,
        )


def photo_figures(kept: Iterable[KeptFigure], by_hand: Fitting | None) -> list[PhotoFigure]:
    """The photo figures in the order of the sheet, each beside the figure taken by hand."""
    found = {(figure.quantity, figure.eye): figure for figure in kept}
    places = [(row, eye) for row in ROWS for eye in row.eyes if (row.quantity.value, eye) in found]
    return [PhotoFigure(row, found[row.quantity.value, eye], _taken_by_hand(by_hand, row, eye)) for row, eye in places]


def _taken_by_hand(by_hand: Fitting | None, row: FittingRow, eye: str) -> Measurement | None:
    hand = by_hand.figure(row.quantity, eye) if by_hand else None
    return hand if hand is not None and hand.method in BY_HAND else None
