"""Where the eyes would lie in a frame in which nobody has measured yet: assumed, and said to be so. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dispensing.trade import figure
from orders.documents.lens_catalogue import DesignKind
from orders.documents.lens_order import EYES, Eye, FramePart, LensOrder

ABOVE_MIDDLE_MM: Mapping[DesignKind, float] = {
    "progressive": figure("assumed-height", "cross_above_middle_mm"),
    "office": figure("assumed-height", "cross_above_middle_mm"),
    "bifocal": -figure("assumed-height", "segment_below_middle_mm"),
}
"""Where the height is taken to be if it was measured in no frame. A single vision lens needs none: without a height its
centre lies in the middle. What the segment of a trifocal needs, nobody can guess.
"""


@dataclass(frozen=True)
class AssumedHeights:
    """mm above the lowest point of the lens, each None if it cannot be assumed. from_fitting: carried over from a
    measured one, else as is usual.
    """

    right: float | None
    left: float | None
    from_fitting: bool

    def eye(self, eye: Eye) -> float | None:
        return self.right if eye == "right" else self.left


def heights_in(order: LensOrder, frame: FramePart, kinds: Mapping[Eye, DesignKind | None]) -> AssumedHeights:
    """The heights in another frame: the eye as far above the middle of its lens as of the one measured.

    kinds: of each eye's design; where no height was measured, it decides what is usual.
    """
    right, left = (_height(order, frame, eye, kinds.get(eye)) for eye in EYES)
    measured = any(order.fitting.eye(eye).height_mm is not None for eye in EYES)
    return AssumedHeights(right, left, measured)


def _height(order: LensOrder, frame: FramePart, eye: Eye, kind: DesignKind | None) -> float | None:
    measured, now, then = order.fitting.eye(eye).height_mm, order.frame.b_mm, frame.b_mm
    if measured is not None:
        return None if now is None or then is None else measured - now / 2.0 + then / 2.0
    above = ABOVE_MIDDLE_MM.get(kind) if kind else None
    return None if above is None or then is None else then / 2.0 + above
