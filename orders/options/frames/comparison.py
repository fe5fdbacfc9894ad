"""The comparison of frames: every frame as a row, with its figures, what the check says, and what is not known.

Pure: documents in, rows out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from dispensing.trade import Limits, PracticeLimits
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import FramePart, LensOrder
from orders.options.frames.table import FrameOffer, FrameTable
from orders.options.lenses.judged import judged
from orders.options.lenses.judged_row import JudgedRow
from orders.options.lenses.unknown import Unknown, unknown_in


@dataclass(frozen=True, eq=False)
class FrameRow(JudgedRow):
    """One frame with the lenses of the order."""

    table: FrameTable

    @property
    def offer(self) -> FrameOffer:
        return self.table.offers[self.number]

    @property
    def frame(self) -> FramePart:
        return self.offer.frame

    @property
    def unknown(self) -> tuple[Unknown, ...]:
        """What could not be worked out, and why."""
        return tuple(unknown_in(self.case))


def compare_frames(
    order: LensOrder,
    catalogue: LensCatalogue,
    frames: Sequence[FramePart],
    *,
    others: Sequence[LensOrder] = (),
    practice_limits: PracticeLimits | None = None,
    today: date | None = None,
) -> tuple[FrameRow, ...]:
    """A row for each frame, in their own sequence, with the lenses of the order. Arguments as for the check.

    The frame takes the place of the order's own, and stays where that is to come from (`source`). Heights are assumed
    (`heights_in`); PDs, tilt, face form and vertex distance stay as they were measured.
    """
    if not frames or not order.ordered_eyes:
        return ()
    practice = practice_limits or PracticeLimits()
    table = FrameTable(order, catalogue, frames, others=others, limits=Limits(practice), today=today)
    said = judged(table, practice)
    return tuple(FrameRow(table, said, number) for number in range(len(frames)))
