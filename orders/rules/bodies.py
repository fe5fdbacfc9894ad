"""What the body of a lens is worked out from: what the order and the design say, and what the material says.

The two are kept apart because a comparison works out every design in every material at once. This module must never
judge.
"""

from __future__ import annotations

from dataclasses import dataclass

from dispensing.optics.boxing import LensShape
from dispensing.optics.lens_body import LensBody, lens_body
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism


@dataclass(frozen=True)
class PlacedLens:
    """A lens without its material: power in D, 1.530 tooling curve in D, reference point in mm (in, up).

    reading: power in D of a segment that takes the whole width; None of any other lens.
    """

    shape: LensShape
    power: SphereCylinder
    prism: Prism
    front_curve_d: float
    reference_in_up_mm: tuple[float, float]
    reading: SphereCylinder | None = None


@dataclass(frozen=True)
class Substance:
    """What of a material makes the body: index, density in g/cm³, and the minima in mm for the mount in use."""

    index: float
    density_g_cm3: float
    min_centre_mm: float
    min_edge_mm: float


def body_of(placed: PlacedLens, substance: Substance, centre_thickness_mm: float | None = None) -> LensBody:
    """The edged lens, at its thinnest or of an ordered centre thickness. Raises OpticsError.

    A lens with a full-width segment is one piece, and as thick as its reading part asks (Bhootra, Ophthalmic Lenses,
    p. 111); without prism thinning.
    """
    body = _cut(placed, placed.power, substance, centre_thickness_mm)
    if placed.reading is None or centre_thickness_mm is not None:
        return body
    reading = _cut(placed, placed.reading, substance, None)
    if reading.centre_thickness_mm <= body.centre_thickness_mm:
        return body
    return _cut(placed, placed.power, substance, reading.centre_thickness_mm)


def _cut(
    placed: PlacedLens, power: SphereCylinder, substance: Substance, centre_thickness_mm: float | None
) -> LensBody:
    return lens_body(
        placed.shape,
        power,
        index=substance.index,
        density_g_cm3=substance.density_g_cm3,
        front_curve_d=placed.front_curve_d,
        min_centre_mm=substance.min_centre_mm,
        min_edge_mm=substance.min_edge_mm,
        reference_in_up_mm=placed.reference_in_up_mm,
        prism_in=placed.prism.in_pd,
        prism_up=placed.prism.up_pd,
        centre_thickness_mm=centre_thickness_mm,
    )
