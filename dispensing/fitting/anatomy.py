"""Lengths of the eye that the photo cannot show, and the near centration that follows from them.

It must never know about photos or pixels. Depths are measured backwards from the lens plane, in mm.
"""

from __future__ import annotations

from typing import TypeVar

from dispensing.fitting.arrays import FloatArray
from dispensing.trade import figure

CORNEA_TO_CENTRE_OF_ROTATION_MM = figure("schematic-eye", "cornea_to_rotation_mm")
"""Added to the usual vertex distance, it gives the usual stop distance of 27 mm."""

CORNEA_TO_PUPIL_MM = figure("schematic-eye", "cornea_to_pupil_mm")
"""How far the entrance pupil lies behind the corneal apex, as in the schematic eyes of the textbooks."""

USUAL_VERTEX_MM = figure("schematic-eye", "vertex_mm")
"""Used where the vertex distance has not been measured."""

USUAL_NEAR_DISTANCE_MM = figure("near-distance", "usual_mm")
"""Reading distance from the spectacle plane, unless the document gives another."""

ID1_CARD_LENGTH_MM = figure("id-card", "length_mm")
"""The long side of an ID-1 card, ISO/IEC 7810."""

ID1_CARD_HEIGHT_MM = figure("id-card", "height_mm")
"""Its short side."""

Length = TypeVar("Length", float, FloatArray)


def near_pd_mm(far_pd_mm: Length, near_distance_mm: float, stop_distance_mm: Length) -> Length:
    """Where the lines of sight meet the lens plane when both eyes look at a near point, behind a plano lens.

    ``far_pd_mm``: monocular or binocular far PD. ``near_distance_mm``: W, lens plane to the near point, in front of
    the middle of the bridge. ``stop_distance_mm``: s, lens plane to the centre of rotation.

    The line of sight joins the centre of rotation (``far_pd_mm`` from the median plane, s behind the lens) to the near
    point (on the median plane, W in front), so by similar triangles it crosses the lens at far · W / (W + s). This
    agrees with the published example of 63 mm at 400 mm with a stop distance of 27 mm: 59.0 mm.
    """
    return far_pd_mm * near_distance_mm / (near_distance_mm + stop_distance_mm)
