"""How surely a mark lies, from the enlargement it was set at and the hand that set it.

A page tells of every mark how many screen pixels showed a pixel of the photo, and whether a mouse, a pen, a finger or
keys set it: ``{"made": {"right.pupil": {"zoom": 0.18, "by": "mouse"}}}`` in the ``extra`` of a photo. Nothing else
about whoever marks is known here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from dispensing.trade import figure

MADE = "photo-marks-made"
EDGE_SD_PX = figure(MADE, "edge_px")
"""How far a mark lies off in a sharp photo, however much it is enlarged: an edge has a width of its own."""

HAND_SD_PX = {hand: figure(MADE, f"{hand}_px") for hand in ("mouse", "pen", "touch", "keys")}
"""How far each hand puts a mark from where it is meant, in pixels of the screen."""

ZOOMS = (0.01, 100.0)
MOST_MARKS = 20


def mark_sd_px(made: object, mark: str, usual_px: float) -> float:
    """One standard deviation of a mark in px of the photo; ``usual_px`` where it is not known how it was made."""
    if not isinstance(made, Mapping) or not isinstance(how := made.get(mark), Mapping):
        return usual_px
    zoom, hand = how.get("zoom"), how.get("by")
    if not isinstance(zoom, int | float) or not isinstance(hand, str) or hand not in HAND_SD_PX:
        return usual_px
    return math.hypot(EDGE_SD_PX, HAND_SD_PX[hand] / min(max(float(zoom), ZOOMS[0]), ZOOMS[1]))


def kept_made(extra: Mapping[str, Any] | None) -> dict[str, Any]:
    """How marks were made, of the ``extra`` that a page sent."""
    made = (extra or {}).get("made")
    if not isinstance(made, Mapping):
        return {}
    kept = {
        str(mark)[:20]: {"zoom": round(float(how["zoom"]), 4), "by": how["by"]}
        for mark, how in list(made.items())[:MOST_MARKS]
        if isinstance(how, Mapping) and how.get("by") in HAND_SD_PX and isinstance(how.get("zoom"), int | float)
    }
    return {"made": kept} if kept else {}
