"""Figures used only to cast doubt on others: differences between the two sides, and from what was given.

This module must never know about bands or wording. It runs on a whole batch, after the figures it compares.
"""

from __future__ import annotations

from dispensing.fitting.arrays import Columns, Figures
from dispensing.fitting.documents import EYES


def comparison_figures(figures: Figures, columns: Columns) -> Figures:
    """Differences in mm, right less left and measured less given; NaN where either is missing."""
    compared: Figures = {
        f"{what}_difference_mm": figures[f"right.{what}_mm"] - figures[f"left.{what}_mm"] for what in ("pd", "a", "b")
    }
    for eye in EYES:
        compared[f"{eye}.above_half_b_mm"] = figures[f"{eye}.height_mm"] - figures[f"{eye}.b_mm"] / 2
    if "front.scale.a_mm" in columns:
        compared["dbl_excess_mm"] = figures["dbl_mm"] - columns["front.scale.dbl_mm"]
        for eye in EYES:
            compared[f"{eye}.a_excess_mm"] = figures[f"{eye}.a_mm"] - columns["front.scale.a_mm"]
    return compared
