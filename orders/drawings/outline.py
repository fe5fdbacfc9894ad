"""A single lens shape, for lists and frame pages."""

from __future__ import annotations

from collections.abc import Sequence

from dispensing.optics.boxing import LensShape
from dispensing.optics.conventions import Eye
from dispensing.optics.errors import OpticsError
from dispensing.optics.shape_families import assumed_shape
from dispensing.pictures.picture import Picture


def shape_drawing(
    *,
    a_mm: float | None,
    b_mm: float | None,
    ed_mm: float | None = None,
    radii_mm: Sequence[float] | None = None,
    side: Eye = "right",
    scale: float = 1.0,
) -> str:
    """The shape from its radii, else one assumed from A, B and ED (mm); empty text if neither can be drawn."""
    shape = _shape(a_mm, b_mm, ed_mm, radii_mm, side)
    if shape is None:
        return ""
    picture = Picture()
    picture.polygon(shape.points(), "shape")
    origin = "as traced" if radii_mm else "assumed from the boxed sizes"
    words = f"{side.capitalize()} lens shape {origin}, {shape.a_mm:.1f} mm wide and {shape.b_mm:.1f} mm high."
    return picture.svg(title="Lens shape", description=words, scale=scale)


def _shape(
    a_mm: float | None, b_mm: float | None, ed_mm: float | None, radii_mm: Sequence[float] | None, side: Eye
) -> LensShape | None:
    attempts = [ed_mm, None] if ed_mm is not None else [None]
    try:
        if radii_mm:
            traced = LensShape(radii_mm, "right")
            return traced if side == "right" else traced.mirrored()
    except OpticsError:
        pass
    for ed in attempts:
        if a_mm is None or b_mm is None:
            return None
        try:
            return assumed_shape(a_mm, b_mm, ed, side=side)
        except OpticsError:
            continue
    return None
