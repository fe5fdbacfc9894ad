"""The coloured fringe away from the optical centre: transverse chromatic aberration.

A prism of P Δ in a material of Abbe number V spreads colours by P / V Δ (Bhootra, Ophthalmic Lenses; Jalie). This
module must never judge when a wearer would notice the fringe.
"""

from __future__ import annotations

from dispensing.optics.conventions import Eye
from dispensing.optics.errors import require_range
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import prism_at


def transverse_chromatic_aberration(prism_pd: float, abbe: float) -> float:
    """P / V in Δ, without sign: P is the prism met, in Δ, and V the Abbe number, which has no unit."""
    prism = abs(require_range("prism", prism_pd, "Δ", -200.0, 200.0))
    return prism / require_range("Abbe number", abbe, "", 15.0, 100.0)


def transverse_chromatic_aberration_at(
    power: SphereCylinder, x_in_mm: float, y_up_mm: float, eye: Eye, abbe: float
) -> float:
    """The fringe in Δ at a point in mm from the optical centre (towards the nose, up)."""
    return transverse_chromatic_aberration(prism_at(power, x_in_mm, y_up_mm, eye).amount_pd, abbe)
