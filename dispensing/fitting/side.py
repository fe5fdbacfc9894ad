"""The side photo: from marks to pantoscopic angle and vertex distance, for a whole batch at once.

It must never know about the front photo or about spreads. The photo is taken as a scaled drawing of the side view:
the wearer faces from the cornea to the rim, and the level line says which way is level.

Derivation. With F forwards along the level and U up, the line through the rims departs from the vertical by atan(F / U)
of (top - bottom): + when the top is ahead, that is when the lower rim is nearer the cheek. The vertex distance runs
along the level line from the cornea to that line.
"""

from __future__ import annotations

import numpy as np

from dispensing.fitting.arrays import Columns, ComplexArray, Figures, pixel_point


def side_figures(columns: Columns) -> Figures:
    """``pantoscopic_deg`` and ``vertex_mm``; NaN where the marks do not give them."""
    top, bottom, cornea = _natural_posture(columns)
    rim = top - bottom
    slope = rim.real / rim.imag
    at_cornea_height = bottom.real + (cornea.imag - bottom.imag) * slope
    ends = pixel_point(columns, "side.scale.ends.1") - pixel_point(columns, "side.scale.ends.0")
    mm_per_px = columns["side.scale.length_mm"] / np.abs(ends)
    return {
        "pantoscopic_deg": np.degrees(np.arctan(slope)),
        "vertex_mm": (at_cornea_height - cornea.real) * mm_per_px + columns["side.lens_in_rim_mm"],
    }


def _natural_posture(columns: Columns) -> tuple[ComplexArray, ComplexArray, ComplexArray]:
    """Rim top, rim bottom and cornea in pixels, forwards + i · up, in the axes of the natural head posture."""
    level = np.conj(pixel_point(columns, "side.level.1") - pixel_point(columns, "side.level.0"))
    # The two ends of the level line may be marked in either order.
    level = np.where(level.real < 0, -level, level)
    straight = np.exp(-1j * np.angle(level))
    top, bottom, cornea = (
        np.conj(pixel_point(columns, f"side.{mark}")) * straight for mark in ("rim_top", "rim_bottom", "cornea")
    )
    if np.any((top + bottom).real / 2 < cornea.real):
        top, bottom, cornea = (-np.conj(point) for point in (top, bottom, cornea))
    chin_up = np.exp(-1j * np.radians(columns["side.chin_deg"]))
    return top * chin_up, bottom * chin_up, cornea * chin_up
