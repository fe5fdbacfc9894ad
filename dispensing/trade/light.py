"""How much light a lens lets through: one unit, all its treatments together, and what that means on the road.

Luminous transmittance is a share from 0 to 1 here. Sources: EN ISO 12312-1 as the College of Optometrists gives it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

LEAST_PERCENT, MOST_PERCENT = 1.0, 100.0
DEPTH = re.compile(r"(?<![\d.,])(\d{1,3}(?:[.,]\d{1,3})?)\s*(?:%|per ?cent)", re.IGNORECASE)


def as_share(stated: float) -> float:
    """A transmittance as a catalogue states it, as a share: 15.0 (per cent) is 0.15.

    Up to 1 it is a share already, for no lens of 1 % is worn. What is neither (below 0, above 100) stays as it is and
    counts for nothing.
    """
    return stated / MOST_PERCENT if LEAST_PERCENT < stated <= MOST_PERCENT else stated


def transmittance_percent(stated: Iterable[float | None], colour: str | None = None) -> float | None:
    """What is left of the light behind all treatments, in per cent; None where nothing states it.

    Light passes one after the other, so their shares multiply. ``colour``: the tint in words, “brown 85 %”; it counts
    where no treatment of the list states its own figure, which is the lab's and the surer one.
    """
    listed = _of_treatments(stated)
    return percent_left_by(colour) if listed is None else listed


def percent_left_by(colour: str | None) -> float | None:
    """What a tint in words leaves of the light, in per cent: 8 for “brown 92 %”; None where no depth is in them.

    The depth of a tint is its absorption (common practice); the deepest of a gradient counts. Nothing has 150 %.
    """
    depths = [float(found.replace(",", ".")) for found in DEPTH.findall(colour or "")]
    return min((MOST_PERCENT - depth for depth in depths if depth <= MOST_PERCENT), default=None)


def _of_treatments(stated: Iterable[float | None]) -> float | None:
    shares = [as_share(value) for value in stated if value is not None]
    known = [share for share in shares if 0.0 <= share <= 1.0]
    return math.prod(known) * MOST_PERCENT if known else None
