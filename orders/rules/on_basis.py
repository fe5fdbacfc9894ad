"""The power to order on each basis: as prescribed, carried to the distance at which it is worn, or compensated for tilt
and face form as well.

Exact, not rounded, and always for the power that follows from prescription and use. None if what a basis needs is
missing. This module must never judge; `rounded` is how a power is written on an order.
"""

from __future__ import annotations

from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from dispensing.optics.rounding import round_to
from dispensing.optics.tilt import power_to_order
from dispensing.optics.vertex import at_vertex
from dispensing.trade import figure
from orders.documents.lens_order import PowerBasis
from orders.rules.case import EyeCase

NO_AXIS = 180.0


def power_on_basis(eye: EyeCase, basis: PowerBasis) -> SphereCylinder | None:
    """The power in D to order for this eye, in the cylinder form of the prescription."""
    wanted = eye.made.power_that_follows.optical
    if wanted is None or basis == "as_prescribed":
        return wanted
    try:
        power = _carried(eye, wanted) if basis == "carried_to_vertex" else _compensated(eye, wanted)
    except OpticsError:
        return None
    return power and (power.in_plus_cylinder() if wanted.cylinder > 0.0 else power)


def missing_for(eye: EyeCase, basis: PowerBasis) -> tuple[str, str] | None:
    """The first fact that a basis needs and the order lacks: its name in words and its key; None if all are there."""
    fitting = eye.order.fitting
    if basis == "as_prescribed":
        return None
    if eye.case.tested_vertex_mm is None:
        return "vertex distance of the test", "prescription.vertex_mm"
    if eye.worn_vertex_mm is None:
        return "vertex distance as worn", eye.at("fitting.vertex_mm")
    if basis == "as_worn" and fitting.pantoscopic_deg is None:
        return "pantoscopic tilt", "fitting.pantoscopic_deg"
    if basis == "as_worn" and fitting.face_form_deg is None:
        return "face form", "fitting.face_form_deg"
    return ("material", eye.at("lenses.material")) if basis == "as_worn" and eye.material is None else None


def rounded(power: SphereCylinder) -> SphereCylinder:
    """The power as it is ordered: sphere and cylinder to the finest step that powers are written in, axis to 1°."""
    step = figure("power-step-and-range", "fine_step_d")
    cylinder = round_to(power.cylinder, step)
    axis = round_to(power.axis, 1.0) if cylinder else NO_AXIS
    return SphereCylinder(round_to(power.sphere, step), cylinder, axis)


def _carried(eye: EyeCase, wanted: SphereCylinder) -> SphereCylinder | None:
    tested, worn = eye.case.tested_vertex_mm, eye.worn_vertex_mm
    return None if tested is None or worn is None else at_vertex(wanted, tested, worn)


def _compensated(eye: EyeCase, wanted: SphereCylinder) -> SphereCylinder | None:
    """By the lens as made, as the power as worn is worked out; by a thin lens if its body is not known."""
    fitting, material, body = eye.order.fitting, eye.material, eye.figures.body_as_made
    if missing_for(eye, "as_worn") is not None or material is None:
        return None
    return power_to_order(
        wanted,
        eye=eye.eye,
        index=material.index,
        pantoscopic_deg=fitting.pantoscopic_deg or 0.0,
        face_form_deg=fitting.face_form_deg or 0.0,
        base_curve_d=eye.figures.base_curve_d if body else None,
        centre_thickness_mm=body.centre_thickness_mm if body else None,
        tested_vertex_mm=eye.case.tested_vertex_mm,
        worn_vertex_mm=eye.worn_vertex_mm,
    )
