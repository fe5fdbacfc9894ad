"""The corridor that a fitting suggests. Pure."""

from __future__ import annotations

from orders.documents.lens_catalogue import Design
from orders.documents.lens_order import EYES, FittingPart


def suggested_corridor(design: Design, fitting: FittingPart) -> float | None:
    """The longest corridor (mm) of a design for which the lower of the fitted heights is enough.

    A longer one reads more easily, a shorter one asks for less frame (common practice). None if no height is known, if
    none of the corridors fits, or if the catalogue does not say what height they need.
    """
    heights = [height for eye in EYES if (height := fitting.eye(eye).height_mm) is not None]
    if not heights:
        return None
    known = ((row.length_mm, row.min_height_mm) for row in design.corridors)
    fitting_ones = [length for length, least in known if least is not None and least <= min(heights)]
    return max(fitting_ones, default=None)
