"""How to recognise slips by comparing two prescriptions or two eyes: a lost sign, a moved decimal point, swapped eyes.

The remarks on entry and the rules of the order check both use this, so that they agree on what a slip is. Must never
know how a slip is worded.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from dispensing.optics.conventions import axis_difference
from dispensing.optics.power import SphereCylinder
from dispensing.optics.rounding import at_least
from dispensing.trade import Limits, figure

TEN = 10.0
SAME_D = 0.005
"""Two powers that are written the same differ by less than this."""

Pair = tuple[SphereCylinder, SphereCylinder]
"""The right and the left eye's power."""


def is_flipped(first_d: float, second_d: float, limits: Limits) -> bool:
    """Whether two spheres have opposite signs, and either the same figure or a gap too large to be drift about zero."""
    if first_d * second_d >= 0.0:
        return False
    apart = abs(first_d - second_d)
    return (
        abs(first_d + second_d) < SAME_D
        or not math.isfinite(apart)
        or at_least(apart, limits.of("sign-change", "drift_d"))
    )


def is_ten_times(first: float, second: float, limits: Limits) -> bool:
    """Whether one of two non-zero figures is about ten times the other, with the same sign."""
    return abs(max(first / second, second / first) - TEN) <= limits.of("decimal-slip", "about_ten")


def half_transposed(now: SphereCylinder, then: SphereCylinder) -> bool:
    """Whether `now` is `then` with only some of its three figures written in the other cylinder form.

    The other form of S/C×A is S + C / −C × (A ± 90). A power between the two has one or two of these changes; an eye
    does not change by exactly its own cylinder, or by none but its axis and that by a right angle.
    """
    if abs(then.cylinder) < SAME_D:
        return False
    other = then.transposed()
    turned = [
        _nearer(now.sphere, then.sphere, other.sphere),
        _nearer(now.cylinder, then.cylinder, other.cylinder),
        _nearer_axis(now.axis, then.axis, other.axis),
    ]
    return None not in turned and len(set(turned)) > 1


def _nearer(now: float, then: float, other: float) -> bool | None:
    """Whether the figure is the other form's; None if it is neither form's to the step in which powers are written."""
    within = figure("power-step-and-range", "fine_step_d")
    if abs(now - then) <= within:
        return False
    return True if abs(now - other) <= within else None


def _nearer_axis(now: float, then: float, other: float) -> bool | None:
    within = figure("sign-change", "same_axis_deg")
    if axis_difference(now, then) <= within:
        return False
    return True if axis_difference(now, other) <= within else None


@dataclass(frozen=True, slots=True)
class Exchanged:
    """How far apart two prescriptions are as power vectors, D: as written, and with the eyes swapped."""

    as_written_d: float
    exchanged_d: float


def exchanged(now: Pair, then: Pair, limits: Limits) -> Exchanged | None:
    """The two distances, if the prescriptions would match much better with the eyes swapped; else None.

    For the distance between power vectors see Thibos, Wheeler and Horner, Optometry and Vision Science 74, 1997.
    """
    found = Exchanged(
        math.hypot(now[0].distance_to(then[0]), now[1].distance_to(then[1])),
        math.hypot(now[0].distance_to(then[1]), now[1].distance_to(then[0])),
    )
    far = found.as_written_d >= limits.of("eyes-exchanged", "apart_d")
    better = found.exchanged_d <= found.as_written_d * limits.of("eyes-exchanged", "exchanged_share")
    return found if far and better else None
