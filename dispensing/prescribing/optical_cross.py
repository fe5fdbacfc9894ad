"""The optical cross of one eye: the powers along both principal meridians and where they lie on the chart.

The coordinates are those of a drawing 200 by 200, centre (100, 100), y down, seen facing the wearer: 0 at the viewer's
right, 90 up (TABO), so that the drawing turns the same way as the trial frame.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from dispensing.optics.notation import format_axis, format_power
from dispensing.optics.power import PrincipalPower, SphereCylinder
from dispensing.prescribing.eye import MINUS

CENTRE = 100.0
REACH = 62.0
LABEL_ACROSS, LABEL_UP = 96.0, 88.0
"""Labels are wider than high, so they are placed on an ellipse around the rim."""


@dataclass(frozen=True)
class Meridian:
    """One arm: both ends of its line, where its label goes, and what the label says."""

    x1: str
    y1: str
    x2: str
    y2: str
    label_x: str
    label_y: str
    power: str
    degrees: str


def arms(power: SphereCylinder) -> tuple[Meridian, ...]:
    """Two arms, along the axis and across it; a sphere gives a horizontal and a vertical arm of the same power."""
    return tuple(_arm(principal) for principal in power.principal_powers())


def _arm(principal: PrincipalPower) -> Meridian:
    angle = math.radians(principal.meridian_deg)
    across, up = math.cos(angle), math.sin(angle)
    # The label goes at the upper end, or at the right if the arm is level.
    side = 1.0 if up > 1e-6 else -1.0
    return Meridian(
        x1=f"{CENTRE - REACH * across:.1f}",
        y1=f"{CENTRE + REACH * up:.1f}",
        x2=f"{CENTRE + REACH * across:.1f}",
        y2=f"{CENTRE - REACH * up:.1f}",
        label_x=f"{CENTRE + LABEL_ACROSS * across * side:.1f}",
        label_y=f"{CENTRE - LABEL_UP * up * side:.1f}",
        power=format_power(principal.power, minus=MINUS),
        degrees=format_axis(principal.meridian_deg),
    )
