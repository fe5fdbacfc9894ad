"""How much light a lens lets through: one unit, all its treatments together, and what that means on the road.

Luminous transmittance is a share from 0 to 1 here. Sources: EN ISO 12312-1 as the College of Optometrists gives it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

LEAST_PERCENT, MOST_PERCENT = 1.0, 100.0


def as_share(stated: float) -> float:
    """A transmittance as a catalogue states it, as a share: 15.0 (per cent) is 0.15.

    Up to 1 it is a share already, for no lens of 1 % is worn. What is neither (below 0, above 100) stays as it is and
    counts for nothing.
    """
    return stated / MOST_PERCENT if LEAST_PERCENT < stated <= MOST_PERCENT else stated


def transmittance_percent(stated: Iterable[float | None]) -> float | None:
    """What is left of the light behind all treatments, in per cent; None where none of them states it.

    Light passes one after the other, so their shares multiply.
    """
    shares = [as_share(value) for value in stated if value is not None]
    known = [share for share in shares if 0.0 <= share <= 1.0]
    return math.prod(known) * MOST_PERCENT if known else None
