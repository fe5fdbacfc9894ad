"""A row of the comparison of frames as a ``frame-option/1``. Pure."""

from __future__ import annotations

from typing import Any

from orders.documents.frame_option import FrameOption
from orders.options.frames.comparison import FrameRow
from orders.options.frames.figures import front_width_mm, spare_height_mm
from orders.rules.command import stated


def document(row: FrameRow) -> FrameOption:
    frame, figures, heights = row.frame, row.computed, row.offer.heights
    return FrameOption(
        model=frame.model,
        mount=frame.mount,
        a_mm=frame.a_mm,
        b_mm=frame.b_mm,
        dbl_mm=frame.dbl_mm,
        front_width_mm=front_width_mm(row),
        right_height_mm=heights.right,
        left_height_mm=heights.left,
        heights_by="fitting" if heights.from_fitting else "usual",
        spare_height_mm=spare_height_mm(row),
        right=figures.right,
        left=figures.left,
        verdict=row.verdict,
        findings=row.findings,
        weight_pair_g=row.weight_pair_g,
        extra=_extra(row),
    )


def _extra(row: FrameRow) -> dict[str, object]:
    unknown = [{"figure": one.figure, "eye": one.eye, "why": one.why} for one in row.unknown]
    return {"unknown": unknown, **({"frame": row.frame.extra} if row.frame.extra else {})}


def plain(row: FrameRow) -> dict[str, Any]:
    """The row as JSON values, in the form used wherever the product gives it out; what is unknown is null."""
    values = document(row).model_dump(mode="json")
    extra = values.pop("extra")
    return {**stated(values), "extra": extra}
