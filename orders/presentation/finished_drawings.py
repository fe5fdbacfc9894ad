"""Where the error of a finished pair lies, drawn: a target a lens, and the centres on the lens shapes.

It decides nothing.
"""

from __future__ import annotations

from django.utils.safestring import mark_safe

from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from orders.documents.lens_order import EYES, Eye
from orders.drawings.centres_found import CentreFound, centres_drawing
from orders.drawings.power_error import PowerError, power_error_drawing
from orders.presentation.finished_read import Read


def drawings_of(read: Read) -> dict[str, str]:
    drawn = {f"power-{eye}": _power_drawing(read, eye) for eye in EYES}
    found = {eye: _centre(read, eye) for eye in EYES}
    headings = (read.headings.right, read.headings.left)
    centres = ""
    if any(centre.is_read for centre in found.values()):
        centres = centres_drawing(read.order, read.catalogue, found, headings)
    # Our own SVG, in which every text is escaped.
    return {name: mark_safe(svg) for name, svg in {**drawn, "centres": centres}.items()}  # noqa: S308


def _power_drawing(read: Read, eye: Eye) -> str:
    ordered, typed = read.ordered(eye), read.readings.eye(eye)
    items = {item.quantity: item for item in read.items(eye)}
    if ordered is None or typed is None or not {"meridian_high", "cylinder"} <= set(items):
        return ""
    try:
        found = SphereCylinder.written(typed.sphere, typed.cylinder, typed.axis)
    except OpticsError:
        return ""
    wanted = ordered.power.optical
    if wanted is None:
        return ""
    turn = items.get("axis")
    high = items["meridian_high"]
    error = PowerError(
        ordered=wanted,
        found=found,
        cylinder_d=items["cylinder"].tolerance or 0.0,
        axis_deg=turn.tolerance if turn else None,
        mean_d=high.tolerance or 0.0,
        uncertainty_d=float((high.extra or {})["uncertainty"]),
    )
    return power_error_drawing(error, read.headings.eye(eye))


def _centre(read: Read, eye: Eye) -> CentreFound:
    ordered, typed = read.ordered(eye), read.readings.eye(eye)
    if ordered is None or typed is None:
        return CentreFound()
    limits = {item.quantity: item.tolerance for item in read.items(eye)}
    return CentreFound(
        in_mm=_difference(ordered.pd_mm, typed.pd_mm),
        up_mm=_difference(typed.height_mm, ordered.height_mm),
        allowed_in_mm=limits.get("pd"),
        allowed_up_mm=limits.get("height"),
    )


def _difference(value: float | None, other: float | None) -> float | None:
    return None if value is None or other is None else value - other
