"""How slips of the pen show in two prescriptions or two eyes: a sign lost, a decimal point moved, the eyes exchanged.

The remarks on entry and the rules of the order check ask here, so that both mean the same by it. Must never know how
it is said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from dispensing.optics.power import SphereCylinder
from dispensing.optics.rounding import at_least
from dispensing.trade import Limits

TEN = 10.0
SAME_D = 0.005
"""Two powers that are written alike are no further apart."""

Pair = tuple[SphereCylinder, SphereCylinder]
"""Right and left."""


def is_flipped(first_d: float, second_d: float, limits: Limits) -> bool:
    """Whether two spheres have opposite signs, and the same figure or a step too large to be drift about zero."""
    if first_d * second_d >= 0.0:
        return False
    apart = abs(first_d - second_d)
    return (
        abs(first_d + second_d) < SAME_D
        or not math.isfinite(apart)
        or at_least(apart, limits.of("sign-change", "drift_d"))
    )


def is_ten_times(first: float, second: float, limits: Limits) -> bool:
    """Whether one of two figures, neither of them nought, is about ten times the other, of the same sign."""
    return abs(max(first / second, second / first) - TEN) <= limits.of("decimal-slip", "about_ten")


@dataclass(frozen=True, slots=True)
class Exchanged:
    """How far two prescriptions are apart as power vectors, D: as they are written, and with the eyes exchanged."""

    as_written_d: float
    exchanged_d: float


def exchanged(now: Pair, then: Pair, limits: Limits) -> Exchanged | None:
    """The two distances where the eyes would fit much better exchanged; else None.

    Distance between power vectors: Thibos, Wheeler and Horner, Optometry and Vision Science 74, 1997.
    """
    found = Exchanged(
        math.hypot(now[0].distance_to(then[0]), now[1].distance_to(then[1])),
        math.hypot(now[0].distance_to(then[1]), now[1].distance_to(then[0])),
    )
    far = found.as_written_d >= limits.of("eyes-exchanged", "apart_d")
    better = found.exchanged_d <= found.as_written_d * limits.of("eyes-exchanged", "exchanged_share")
    return found if far and better else None
