"""How much light a lens lets through: one unit throughout, all treatments together, and what that means on the road.

Luminous transmittance is a share from 0 to 1 here. Sources: EN ISO 12312-1 as the College of Optometrists gives it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

LEAST_PERCENT, MOST_PERCENT = 1.0, 100.0
DEPTH = re.compile(r"(?<![\d.,])(\d{1,3}(?:[.,]\d{1,3})?)\s*(?:%|per ?cent)", re.IGNORECASE)


def as_share(stated: float) -> float:
    """Turns a transmittance as stated in a catalogue into a share: 15.0 (per cent) is 0.15.

    Up to 1 it is already a share, because nobody wears a lens of 1 %. A value that is neither (below 0, above 100) is
    returned unchanged and is ignored later.
    """
    return stated / MOST_PERCENT if LEAST_PERCENT < stated <= MOST_PERCENT else stated


def transmittance_percent(stated: Iterable[float | None], colour: str | None = None) -> float | None:
    """The share of light left after all treatments, in per cent; None if nothing states it.

    Light passes through them one after the other, so their shares multiply. ``colour``: the tint in words, “brown 85
    %”; it is only used if no treatment in the list states a figure, since that is the lab's own and more reliable.
    """
    listed = _of_treatments(stated)
    return percent_left_by(colour) if listed is None else listed


def percent_left_by(colour: str | None) -> float | None:
    """The light that a tint given in words lets through, in per cent: 8 for “brown 92 %”; None if no depth is given.

    The depth of a tint is its absorption (common practice); for a gradient the deepest counts. A depth above 100 % is
    impossible and is ignored.
    """
    depths = [float(found.replace(",", ".")) for found in DEPTH.findall(colour or "")]
    return min((MOST_PERCENT - depth for depth in depths if depth <= MOST_PERCENT), default=None)


def _of_treatments(stated: Iterable[float | None]) -> float | None:
    shares = [as_share(value) for value in stated if value is not None]
    known = [share for share in shares if 0.0 <= share <= 1.0]
    return math.prod(known) * MOST_PERCENT if known else None
