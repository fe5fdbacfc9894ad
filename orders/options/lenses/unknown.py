"""Why a figure of a row is not known, in words: what is missing, and from where. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from dispensing.optics.errors import OpticsError
from orders.documents.lens_order import Eye
from orders.rules.bodies import body_of
from orders.rules.case import Case, EyeCase

BODY = "thickness, edge and weight"
BLANK = "blank"


@dataclass(frozen=True)
class Unknown:
    """figure: what is not known, in words. eye: of which lens; None if of the pair."""

    figure: str
    why: str
    eye: Eye | None = None


def unknown_in(case: Case) -> Iterator[Unknown]:
    """What could not be worked out for the lenses of a case; each eye that has a lens says it for itself."""
    for eye in case.eyes:
        why = _no_body(eye)
        if why:
            yield Unknown(BODY, why, eye.eye)
        why = _no_blank(eye)
        if why:
            yield Unknown(BLANK, why, eye.eye)


def _no_blank(eye: EyeCase) -> str:
    if eye.design is not None and not eye.design.blanks:
        return f"The catalogue lists no blanks of {eye.design.name}."
    if eye.figures.blank_needed_mm is not None:
        return ""
    return _unplaced(eye) or "The lens lies too far off for any blank."


def _no_body(eye: EyeCase) -> str:
    if eye.figures.body is not None:
        return ""
    if eye.made_power.optical is None:
        return "The power is not complete, or no lens has it."
    unplaced = _unplaced(eye)
    return unplaced or _no_substance(eye) or _refused(eye)


def _unplaced(eye: EyeCase) -> str:
    if eye.figures.shape is None:
        return "The shape of the frame is not known: neither a trace, nor A and B."
    if eye.figures.prism_point is not None:
        return ""
    if eye.figures.centre_in_mm is None:
        return "A, DBL or the PD is missing."
    return "The fitting height is missing."


def _no_substance(eye: EyeCase) -> str:
    material, mount = eye.material, eye.order.frame.mount
    if material is None:
        return "There is no such material in the catalogue."
    if mount is None:
        return "Nothing says how the frame holds the lens, and so how thin its edge may be."
    facts = (
        (material.density_g_cm3, "density"),
        (material.min_centre_mm, "minimum centre thickness"),
        (material.min_edge_mm.get(mount), "minimum edge for this mount"),
    )
    missing = [name for value, name in facts if value is None]
    return f"The catalogue gives no {' and no '.join(missing)} for {material.name}." if missing else ""


def _refused(eye: EyeCase) -> str:
    """What the optics core says of the lens, if it was asked at all."""
    placed, substance = eye.figures.placed, eye.figures.substance_of(eye.material)
    if placed is None or substance is None:
        return "No front curve is known for this power."
    try:
        body_of(placed, substance)
    except OpticsError as refused:
        return str(refused)
    return ""
