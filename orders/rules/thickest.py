"""Where a lens is thickest, in words and on its shape. Pure; it judges nothing."""

from __future__ import annotations

import math
from dataclasses import dataclass

from dispensing.optics.lens_body import LensBody
from orders.documents.lens_order import Eye

PLACES = (
    "at the nose",
    "at the top near the nose",
    "at the top",
    "at the top near the temple",
    "at the temple",
    "at the bottom near the temple",
    "at the bottom",
    "at the bottom near the nose",
)
"""Eighths of the way round from the nose over the brow."""

IN_THE_MIDDLE = "in the middle"


@dataclass(frozen=True)
class Thickest:
    """Where a lens is thickest: mm, in words, and in which lens; corner: which of the shape's, None in the middle.
    in_up_mm: mm from the boxed centre.
    """

    mm: float
    where: str
    eye: Eye
    corner: int | None
    in_up_mm: tuple[float, float]


def thickest_of(body: LensBody, eye: Eye) -> Thickest:
    """The thickest place of the edged lens: at its edge, or in its middle."""
    if body.centre_thickness_mm > body.edge_max_mm:
        return Thickest(body.centre_thickness_mm, IN_THE_MIDDLE, eye, None, body.reference_in_up_mm)
    inwards, upwards = body.thickest_at
    eighth = round(math.atan2(upwards, inwards) / (math.pi / 4.0)) % len(PLACES)
    return Thickest(body.edge_max_mm, PLACES[eighth], eye, int(body.edge_mm.argmax()), (inwards, upwards))
