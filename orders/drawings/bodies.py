"""The edged lens of one eye as a body, from what the order and the catalogue say of it."""

from __future__ import annotations

from collections.abc import Sequence

from dispensing.optics.errors import OpticsError
from dispensing.optics.lens_body import LensBody, lens_body
from orders.documents.lens_order import PrismPart
from orders.rules.case import EyeCase

# Where the order or the catalogue does not say how a lens is mounted or how thin it may be: common practice.
USUAL_MIN_CENTRE_MM = 1.5
USUAL_MIN_EDGE_MM = 1.0
USUAL_DENSITY_G_CM3 = 1.3


def lens_body_of(eye: EyeCase) -> LensBody | None:
    """The lens with the ordered power as written, the thinnest that the material's minima allow."""
    shape, power, point = eye.figures.shape, eye.power.optical, eye.figures.prism_point
    material, curve = eye.material, eye.figures.base_curve_d
    if eye.lens is None or shape is None or power is None or point is None or material is None or curve is None:
        return None
    least_edge = material.min_edge_mm.get(eye.case.order.frame.mount or "full_rim")
    prism_in, prism_up = _components(eye.prescribed.prism)
    try:
        return lens_body(
            shape,
            power,
            index=material.index,
            density_g_cm3=material.density_g_cm3 or USUAL_DENSITY_G_CM3,
            front_curve_d=curve,
            min_centre_mm=material.min_centre_mm or USUAL_MIN_CENTRE_MM,
            min_edge_mm=USUAL_MIN_EDGE_MM if least_edge is None else least_edge,
            reference_in_up_mm=point,
            prism_in=prism_in,
            prism_up=prism_up,
            centre_thickness_mm=eye.lens.centre_thickness_mm,
        )
    except OpticsError:
        return None


def _components(prisms: Sequence[PrismPart]) -> tuple[float, float]:
    """Prism in Δ towards the nose and up."""
    signs = {"in": (1.0, 0.0), "out": (-1.0, 0.0), "up": (0.0, 1.0), "down": (0.0, -1.0)}
    inwards = upwards = 0.0
    for part in prisms:
        if part.amount is not None and part.base is not None:
            inwards += part.amount * signs[part.base][0]
            upwards += part.amount * signs[part.base][1]
    return inwards, upwards
