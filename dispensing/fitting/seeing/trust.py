"""How often a mark that looks like this is right: logistic regressions on painted faces.

The weights of sides come from ``python -m tests.fitting.fit_trust``; ``python -m tests.fitting.painted_proposals``
shows on other faces how often they hold. Right is within half a millimetre. Nothing here knows a colour of skin.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

MOST_AHEAD = 12.0
MOST_OFF_MM = 1.5


@dataclass(frozen=True)
class SideLooks:
    """What tells a right side from a wrong one.

    ``strength``: of its edge, 0 to 1. ``worth``: the odds of that edge by its looks alone, a logarithm. ``ahead``: how
    much worse every other place would fit the known frame. ``off_mm``: how far it lies from where the other sides put
    it; ``uneven_mm``: above or below, from the other lens's; ``all_off_mm``: all sides from the figure.
    ``scatter_mm``, ``agree``: how the places along the side lie about it. ``outline``: how much of a rim there is all
    round this lens, 0 to 1.
    """

    strength: float
    worth: float
    ahead: float
    off_mm: float
    uneven_mm: float
    all_off_mm: float
    scatter_mm: float
    agree: float
    outline: float


OWN_PUPIL, HIDDEN_PUPIL, MOST_SURE = (-0.5, 9.0), (-6.0, 9.5), 0.99
"""Of 200 pupils whose own edge showed all but two were right from 0.3 on; of others, whose iris a lid may have drawn
up, only those above 0.8."""

WEIGHTS = (-2.29, -2.40, 2.70, 1.13, -0.42, -1.78, -0.04, -0.28, -4.20, 3.53, 3.98)


def told_by(looks: SideLooks) -> tuple[float, ...]:
    """What the regression is on, the constant first."""
    ahead = min(looks.ahead, MOST_AHEAD) / MOST_AHEAD
    return (
        1.0,
        looks.strength,
        max(looks.worth, -5.0) / 5,
        ahead,
        math.sqrt(ahead),
        min(looks.off_mm, MOST_OFF_MM),
        min(looks.uneven_mm, MOST_OFF_MM),
        min(looks.all_off_mm, MOST_OFF_MM),
        min(looks.scatter_mm, 0.5),
        looks.agree,
        looks.outline,
    )


def how_sure(looks: SideLooks) -> float:
    """The share of sides with such looks that are right, 0 to 1."""
    return share(sum(weight * value for weight, value in zip(WEIGHTS, told_by(looks), strict=True)))


def pupil_sure(found: float, own: bool) -> float:
    """The same of a pupil that the finder holds for one by ``found``; ``own``: whether its own edge shows."""
    constant, rise = OWN_PUPIL if own else HIDDEN_PUPIL
    return min(MOST_SURE, share(constant + rise * found))


def share(odds: float) -> float:
    """From the logarithm of odds to a share, 0 to 1."""
    return 1 / (1 + math.exp(-max(min(odds, 50.0), -50.0)))
