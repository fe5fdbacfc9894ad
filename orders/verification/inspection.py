"""What is looked at on a finished pair besides its figures: lenses and frame, in the order in which hands do it.

The points are those on which handbooks and teaching of both countries agree (lens surface within 30 mm of the reference
point: ISO 8980-1; the rest common practice). This module must never judge.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

Part = Literal["lens", "frame"]
Found = Literal["fine", "defect"]


@dataclass(frozen=True)
class Point:
    """One thing to look at. key: its name in records; asks: what to look for."""

    key: str
    part: Part
    title: str
    asks: str


POINTS: Final = (
    Point(
        "product",
        "lens",
        "The right lenses",
        "Design, material and treatments as ordered; engravings show it.",
    ),
    Point("surface", "lens", "Surface", "No scratches, pits or bubbles about the centre, without a magnifier."),
    Point("coating", "lens", "Coating", "Even, no crazing, no stains, the same residual colour on both."),
    Point("tint", "lens", "Tint", "Colour and depth as ordered and alike on both; a gradient level."),
    Point("edge", "lens", "Edge", "No chips or flakes; bevel, groove or drill holes clean; polished if ordered."),
    Point("seat", "lens", "Seat", "No gap and no play; neither lens strained by the rim or its screws."),
    Point("model", "frame", "The right frame", "Model, colour and size as ordered; the patient's own came back whole."),
    Point("alignment", "frame", "Alignment", "Front straight, sides parallel, all four points touch the table."),
    Point("parts", "frame", "Screws, hinges and pads", "All there and tight; sides open and close evenly."),
    Point("finish", "frame", "Finish", "No marks of tools, no peeling, no sharp edges."),
)
BY_KEY: Final = {point.key: point for point in POINTS}
WORDS_MOST = 200

Inspection = Mapping[str, Mapping[str, Any]]


def defects(inspection: Inspection) -> tuple[tuple[Point, str], ...]:
    """The points at which something is wrong, each with what was written about it."""
    found = ((point, inspection.get(point.key, {})) for point in POINTS)
    return tuple((point, str(row.get("words", ""))) for point, row in found if row.get("found") == "defect")


def not_looked_at(inspection: Inspection) -> tuple[Point, ...]:
    """The points of which nothing was said."""
    return tuple(point for point in POINTS if point.key not in inspection)
