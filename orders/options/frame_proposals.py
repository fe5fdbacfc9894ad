"""Another frame, or this one adjusted. The figures measured in it then no longer hold, so these are only advice.

For the check only, the eye is assumed to be as far above the middle of another lens as of this one. This module
must never propose a figure as if it had been measured.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from orders.documents.lens_order import FramePart
from orders.documents.names import MOUNTS
from orders.options.frames.in_frame import heights_in
from orders.options.remedy import Proposal
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.wraps import has_wrap_curve, is_wrap

MOST_FRAMES = 8
"""How many stock frames are tried, nearest in size first; each needs a whole check."""

STEPS_MM = (0.5, 1.0, 1.5, 2.0)
"""How far a frame can be moved up or down on the face by its pads or sides (common practice)."""

ANOTHER_MOUNT = 20.0
"""A different mount counts as this many millimetres of difference: it is another kind of frame."""

BOX = ("a_mm", "b_mm", "dbl_mm", "ed_mm")


def stock_frames(case: Case, frames: Sequence[FramePart]) -> Iterator[Proposal]:
    """The frames nearest in size, most alike first; for a wrap only wraps, since another kind would be another job."""
    wrapped = is_wrap(case.order, case.limits)
    alike = [frame for frame in frames if has_wrap_curve(frame, case.limits) == wrapped]
    for apart, frame in _nearest(case.order.frame, alike):
        text = f"Choose the frame {frame.model} ({_said(case.order.frame, frame)}) and measure in it."
        yield Proposal("frame", text, _in(case, frame), 8.0 + apart / 100.0)


def _said(now: FramePart, frame: FramePart) -> str:
    """``54□17, 36 deep``, and its mount if that differs."""
    sizes = f"{words.number(frame.a_mm or 0)}□{words.number(frame.dbl_mm or 0)}, {words.number(frame.b_mm or 0)} deep"
    return sizes if frame.mount is None or frame.mount == now.mount else f"{sizes}, {MOUNTS[frame.mount]}"


def _nearest(now: FramePart, frames: Iterable[FramePart]) -> list[tuple[float, FramePart]]:
    found: dict[tuple[Any, ...], tuple[float, FramePart]] = {}
    for frame in frames:
        pairs = [(getattr(now, key), getattr(frame, key)) for key in BOX]
        if frame.mount is None or any(new is None for _, new in pairs[:3]):
            continue
        if all(old is not None and abs(old - new) < 0.05 for old, new in pairs[:3]):
            continue
        apart = sum(abs(old - new) for old, new in pairs if old is not None and new is not None)
        # The same size in another colour is not another answer.
        found.setdefault(
            (frame.mount, *(new for _, new in pairs)), (apart + ANOTHER_MOUNT * (frame.mount != now.mount), frame)
        )
    return sorted(found.values(), key=lambda pair: pair[0])[:MOST_FRAMES]


def _in(case: Case, frame: FramePart) -> dict[str, Any]:
    change: dict[str, Any] = {"frame": frame.model_dump(mode="json", exclude_unset=True) | {"source": None}}
    change["frame"]["source"] = case.order.frame.source
    heights = heights_in(case.order, frame, {})
    for eye in case.eyes:
        if heights.eye(eye.eye) is not None:
            change[f"fitting.{eye.eye}.height_mm"] = heights.eye(eye.eye)
    return change


def sits_lower(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    yield from _moved(case, eye, 1.0)


def sits_higher(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    yield from _moved(case, eye, -1.0)


def lowered_for_tilt(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """The optical centres lowered below the pupils by what the tilt requires, to half a millimetre."""
    heights = {
        one.eye: one.fitted.height_mm - round(one.figures.optical_centre_drop_mm * 2.0) / 2.0
        for one in case.eyes
        if one.kind == "single_vision" and one.fitted.height_mm is not None and one.figures.optical_centre_drop_mm
    }
    if eye.eye in heights:
        said = words.listed(f"{side} {words.mm(height)}" for side, height in heights.items())
        change = {f"fitting.{side}.height_mm": height for side, height in heights.items()}
        yield Proposal("height", f"Lower the optical centres for the tilt: {said} high.", change, 6.0)


def _moved(case: Case, eye: EyeCase, sign: float) -> Iterator[Proposal]:
    """The frame moved on the face; or the segment or centre moved, if the dispenser chooses its height."""
    heights = [(one.eye, one.fitted.height_mm) for one in case.eyes]
    for step in STEPS_MM:
        change = {f"fitting.{side}.height_mm": height + sign * step for side, height in heights if height is not None}
        if not change:
            return
        yield Proposal("height", _move_words(eye, sign, step), change, 6.0 + step / 100.0)


def _move_words(eye: EyeCase, sign: float, step: float) -> str:
    if eye.has_cross:
        return f"Adjust the frame to sit {words.mm(step)} {'lower' if sign > 0 else 'higher'}, and measure again."
    what = "segment tops" if eye.is_multifocal else "optical centres"
    return f"Place the {what} {words.mm(step)} {'higher' if sign > 0 else 'lower'}."
