"""``frame-option/1``: one frame for the lenses of an order, with what the check would say of the order with it.

``right`` and ``left`` hold the report's computed figures. Under ``extra``: ``unknown``, what could not be worked out
and why; ``frame``, what the stock says under ``extra`` of this frame.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from dispensing.documents import DocumentPart
from orders.documents.lens_option import OptionFinding
from orders.documents.lens_order import Mount
from orders.documents.order_report import ComputedEye, Verdict

FORMAT: Literal["frame-option/1"] = "frame-option/1"

HeightsBy = Literal["fitting", "usual"]
"""Carried over from the order's own fitting, the eye as far above the middle of the lens; or taken to be as usual."""


class FrameOption(DocumentPart):
    """height_mm: assumed, null where none can be. spare_height_mm: what the lower height has beyond the design's
    minimum. front_width_mm: from temple to temple, 2 A + DBL.
    """

    format: Literal["frame-option/1"] = FORMAT
    model: str | None = None
    mount: Mount | None = None
    a_mm: float | None = None
    b_mm: float | None = None
    dbl_mm: float | None = None
    front_width_mm: float | None = None
    right_height_mm: float | None = None
    left_height_mm: float | None = None
    heights_by: HeightsBy
    spare_height_mm: float | None = None
    right: ComputedEye = Field(default_factory=ComputedEye)
    left: ComputedEye = Field(default_factory=ComputedEye)
    verdict: Verdict
    findings: tuple[OptionFinding, ...] = ()
    weight_pair_g: float | None = None
