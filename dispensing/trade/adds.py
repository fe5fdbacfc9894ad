"""The usual adds for an age, from the rows of ``add_for_age.toml``, and whether an add is outside them."""

from __future__ import annotations

from math import inf

from dispensing.trade.facts import data_file
from dispensing.trade.limits import Limits

RULE = "add-for-age"


def usual_add(age_years: int) -> tuple[float, float]:
    """The lowest and highest usual add at an age, D; 0 to 0 if none is usual."""
    for row in data_file("add_for_age")["band"]:
        if row["from_years"] <= age_years <= row.get("to_years", inf):
            return float(row["low_d"]), float(row["high_d"])
    return 0.0, 0.0


def believable_add(age_years: int, limits: Limits) -> tuple[float, float]:
    """The adds at an age that raise no question: the usual ones plus the margin set by the limit on either side, D."""
    low, high = usual_add(age_years)
    room = limits.of(RULE, "beyond_band_d")
    return low - room, high + room
