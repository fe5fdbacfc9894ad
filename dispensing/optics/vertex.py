"""How the power of a lens changes when the lens is moved along the line of sight.

A power found at one distance from the cornea has to be a different power at another distance; each principal meridian
follows F / (1 - d F), with d in m positive when the lens moves closer to the eye.  This module must never know about
tilt (see tilt).
"""

from __future__ import annotations

from dispensing.optics.errors import OpticsError, require_finite, require_range
from dispensing.optics.power import POWER_LIMIT_D, SphereCylinder

VERTEX_LOW_MM, VERTEX_HIGH_MM = 0.0, 200.0


def vertex_change(power_d: float, closer_by_mm: float) -> float:
    """The power in D that replaces `power_d` when the lens moves `closer_by_mm` mm towards the eye.

    F / (1 - d F); a negative distance moves the lens away.  Raises OpticsError where the lens would have
    to stand in its own focus.
    """
    power = require_finite("power", power_d, "D")
    closer_m = require_finite("movement of the lens", closer_by_mm, "mm") / 1000.0
    left_over = 1.0 - closer_m * power
    if left_over <= 0.01:
        raise OpticsError(
            "movement of the lens",
            closer_by_mm,
            "mm",
            f"short of the focal length of {power:+.2f} D",
            "No lens can replace one from beyond its own focus.",
        )
    return power / left_over


def vertex_effect(power_d: float, moved_by_mm: float) -> float:
    """Roughly how much a lens changes, D without sign, when it moves by so many mm: F²/1000 per mm.

    The handbook's shortcut for `vertex_change`: good enough to say whether a movement matters, never for an order.
    """
    power = require_range("power", power_d, "D", -POWER_LIMIT_D, POWER_LIMIT_D)
    moved = require_range("movement of the lens", moved_by_mm, "mm", -VERTEX_HIGH_MM, VERTEX_HIGH_MM)
    return abs(moved) * power**2 / 1000.0


def at_vertex(power: SphereCylinder, tested_mm: float, worn_mm: float) -> SphereCylinder:
    """The power that does at `worn_mm` from the cornea what `power` did at `tested_mm`.

    Exact for sphero-cylinders: each principal meridian is moved separately and the axis stays.  The sign of the
    cylinder stays as written.
    """
    tested = require_range("vertex distance of the test", tested_mm, "mm", VERTEX_LOW_MM, VERTEX_HIGH_MM)
    worn = require_range("vertex distance as worn", worn_mm, "mm", VERTEX_LOW_MM, VERTEX_HIGH_MM)
    along, across = power.principal_powers()
    sphere = vertex_change(along.power, tested - worn)
    return SphereCylinder(sphere, vertex_change(across.power, tested - worn) - sphere, power.axis)
