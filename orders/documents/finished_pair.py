"""``finished-readings/1`` and ``finished-verdict/1``: readings of a finished pair, and the verdict."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from dispensing.documents import Day, DocumentPart, parse
from orders.documents.lens_order import Eye

READINGS_FORMAT = "finished-readings/1"
VERDICT_FORMAT = "finished-verdict/1"

Verdict = Literal["accept", "measure_again", "return"]
Result = Literal["pass", "borderline", "fail"]
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
    """One finished lens as read: D, degrees, prism dioptres (base in and base up positive) and mm; null is not read."""

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
    """The power that the lab says it made in place of the ordered one, to be read on the lensmeter."""

    sphere: float | None = None
    cylinder: float | None = None
    axis: float | None = None
    add: float | None = None
    prism_in: float | None = None
    prism_up: float | None = None


class CompensatedPowers(DocumentPart):
    right: CompensatedPower | None = None
    left: CompensatedPower | None = None

    def eye(self, eye: Eye) -> CompensatedPower | None:
        return self.right if eye == "right" else self.left


class PairReadings(DocumentPart):
    """What is read of both lenses together, in Δ: base in of both, and base up of the right over the left."""

    bracketed_prism_h: float | None = None
    bracketed_prism_v: float | None = None


class FinishedReadings(DocumentPart):
    format: Literal["finished-readings/1"]
    right: EyeReadings | None = None
    left: EyeReadings | None = None
    compensated: CompensatedPowers | None = None
    pair: PairReadings | None = None
    read_by: str | None = None
    read_on: Day | None = None
    instrument: str | None = None

    def eye(self, eye: Eye) -> EyeReadings | None:
        return self.right if eye == "right" else self.left


class VerdictItem(DocumentPart):
    """One figure. eye: both for a figure of the pair. A cylinder and its axis are in the form of the order."""

    eye: Literal["right", "left", "both"] | None = None
    quantity: Quantity
    ordered: float | None = None
    found: float | None = None
    tolerance: float | None = None
    result: Result


class FinishedVerdict(DocumentPart):
    format: Literal["finished-verdict/1"] = "finished-verdict/1"
    number: str | None = None
    verdict: Verdict
    items: tuple[VerdictItem, ...] = Field(default_factory=tuple)


def parse_readings(text: str | bytes) -> FinishedReadings:
    """Read a ``finished-readings/1``; raises :class:`dispensing.documents.InvalidDocument`."""
    return parse(FinishedReadings, text, format_name=READINGS_FORMAT)
