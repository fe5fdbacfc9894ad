"""``frame-stock/1``: frames to choose from, each as in a ``lens-order/1``."""

from __future__ import annotations

from typing import Literal

from pydantic import field_validator

from dispensing.documents import DocumentPart, list_or_nothing, parse
from orders.documents.lens_order import FramePart

FORMAT: Literal["frame-stock/1"] = "frame-stock/1"


class FrameStock(DocumentPart):
    format: Literal["frame-stock/1"]
    frames: tuple[FramePart, ...] = ()

    _frames = field_validator("frames", mode="before")(list_or_nothing)


def parse_stock(text: str | bytes) -> FrameStock:
    """Read a ``frame-stock/1``; raises :class:`dispensing.documents.InvalidDocument`."""
    return parse(FrameStock, text, format_name=FORMAT)
