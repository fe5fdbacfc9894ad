"""The figures of photos beside those taken by hand: each with its ±, and whether the two can both be right.

The near PD is worked out anew from the measured far PD, through the lens that is prescribed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from dispensing.fitting.combine import disagree
from dispensing.fitting.documents import Figure
from dispensing.fitting.documents import Fitting as Measured
from dispensing.forms.fitting_rows import ROWS, FittingRow
from dispensing.models import Fitting, Measurement
from dispensing.models.fittings import Method, Quantity
from dispensing.optics.centration import near_pd
from dispensing.optics.errors import OpticsError
from dispensing.services.fittings import FigureTaken


@dataclass(frozen=True)
class PhotoFigure:
    """One figure of the photos. ``hand``: the same figure of the latest fitting by hand in this frame."""

    row: FittingRow
    eye: str
    photo: Figure
    method: str
    hand: Measurement | None

    @property
    def name(self) -> str:
        return self.row.field(self.eye)

    @property
    def words(self) -> str:
        return self.row.label if self.eye == "both" else f"{self.row.label}, {self.eye}"

    @property
    def difference(self) -> float | None:
        """Photo less hand, in the unit of the row."""
        return None if self.hand is None else self.photo.value - float(self.hand.value)

    @property
    def disagrees(self) -> bool:
        if self.hand is None or self.hand.plus_minus is None:
            return False
        by_hand = Figure(value=float(self.hand.value), plus_minus=float(self.hand.plus_minus))
        return disagree(self.photo, by_hand)

    def taken(self) -> FigureTaken:
        """As it is recorded: not rounded, with the ± of the photos."""
        return FigureTaken(
            self.row.quantity, self.eye, (self.photo.value,), self.method, round(self.photo.plus_minus, 2)
        )


def photo_figures(
    measured: Measured, near_distance_mm: float, powers: Mapping[str, float], by_hand: Fitting | None
) -> list[PhotoFigure]:
    """What the photos tell, in the order of the sheet. ``powers``: D along 180 by eye, where prescribed."""
    return list(_figures(measured, near_distance_mm, powers, by_hand))


def _figures(
    measured: Measured, near_distance_mm: float, powers: Mapping[str, float], by_hand: Fitting | None
) -> Iterator[PhotoFigure]:
    for row in ROWS:
        for eye in row.eyes:
            found, method = _figure(measured, row.quantity, eye), Method.PHOTO
            if row.quantity == Quantity.NEAR_PD:
                found, method = _near(measured, eye, near_distance_mm, powers.get(eye, 0.0)), Method.CALCULATED
            if found is None:
                continue
            hand = by_hand.figure(row.quantity, eye) if by_hand else None
            if hand is not None and hand.method not in (Method.RULE, Method.PUPILLOMETER, Method.GAUGE):
                hand = None
            yield PhotoFigure(row, eye, found, method, hand)


def _figure(measured: Measured, quantity: str, eye: str) -> Figure | None:
    holder = {"right": measured.right, "left": measured.left}.get(eye, measured)
    return getattr(holder, str(quantity), None)


def _near(measured: Measured, eye: str, near_distance_mm: float, power_d: float) -> Figure | None:
    far, vertex = _figure(measured, Quantity.PD, eye), _figure(measured, Quantity.VERTEX, eye)
    if far is None:
        return None
    try:
        value = near_pd(far.value, near_distance_mm, vertex.value if vertex else None, power_d)
    except OpticsError:
        return None  # a figure beyond all range has its own words
    # What is uncertain in the far PD is as uncertain in the near one; the formula adds nothing to speak of.
    return Figure(value=value, plus_minus=far.plus_minus * value / far.value)
