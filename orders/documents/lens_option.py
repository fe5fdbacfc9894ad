"""``lens-option/1``: one lens that a catalogue offers for an order, with what the check would say of the order with it.

``right`` and ``left`` hold the report's computed figures. Under ``extra``: ``unknown``, what could not be worked out
and why; ``left_out``, the order's treatments for which the lab has none on this material.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from dispensing.documents import DocumentPart
from orders.documents.order_report import ComputedEye, FindingEye, Level, Verdict

FORMAT: Literal["lens-option/1"] = "lens-option/1"


class OptionFinding(DocumentPart):
    """A finding by its rule; the sentences are in the report on the order with this lens."""

    rule: str
    level: Level
    eye: FindingEye | None = None


class Price(DocumentPart):
    amount: float
    currency: str


class LensOption(DocumentPart):
    format: Literal["lens-option/1"] = FORMAT
    lab: str
    design: str
    material: str
    corridor_mm: float | None = None
    blank_mm: float | None = None
    treatments: tuple[str, ...] = ()
    right: ComputedEye = Field(default_factory=ComputedEye)
    left: ComputedEye = Field(default_factory=ComputedEye)
    verdict: Verdict
    findings: tuple[OptionFinding, ...] = ()
    weight_pair_g: float | None = None
    price: Price | None = None
