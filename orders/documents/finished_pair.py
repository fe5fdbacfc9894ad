"""``finished-readings/1`` and ``finished-verdict/1``: readings of a finished pair, and the verdict."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from dispensing.documents import DocumentPart, parse

READINGS_FORMAT = "finished-readings/1"
VERDICT_FORMAT = "finished-verdict/1"

Quantity = Literal[
    "meridian_high",
    "meridian_low",
    "cylinder",
    "axis",
    "add",
    "prism_horizontal",
    "prism_vertical",
    "height",
    "heights_pair",
    "pd",
    "centre_thickness",
    "base_curve",
]


class EyeReadings(DocumentPart):
    sphere: float | None = None
    cylinder: float | None = None
    axis: float | None = None
    add: float | None = None
    prism_in: float | None = None
    prism_up: float | None = None
    pd_mm: float | None = None
    height_mm: float | None = None
    centre_thickness_mm: float | None = None
    base_curve_d: float | None = None


class CompensatedPower(DocumentPart):
    sphere: float | None = None
    cylinder: float | None = None
    axis: float | None = None
    add: float | None = None
    prism_in: float | None = None
    prism_up: float | None = None


class CompensatedPowers(DocumentPart):
    right: CompensatedPower | None = None
    left: CompensatedPower | None = None


class FinishedReadings(DocumentPart):
    format: Literal["finished-readings/1"]
    right: EyeReadings | None = None
    left: EyeReadings | None = None
    compensated: CompensatedPowers | None = None


class VerdictItem(DocumentPart):
    eye: Literal["right", "left", "both"] | None = None
    quantity: Quantity
    ordered: float | None = None
    found: float | None = None
    tolerance: float | None = None
    result: Literal["pass", "borderline", "fail"]


class FinishedVerdict(DocumentPart):
    format: Literal["finished-verdict/1"] = "finished-verdict/1"
    number: str | None = None
    verdict: Literal["accept", "measure_again", "return"]
    items: tuple[VerdictItem, ...] = Field(default_factory=tuple)


def parse_readings(text: str | bytes) -> FinishedReadings:
    """Read a ``finished-readings/1``; raises :class:`dispensing.documents.InvalidDocument`."""
    return parse(FinishedReadings, text, format_name=READINGS_FORMAT)
