"""Reads a lens shape, typed or pasted as radii or from a tracer's ASCII file, and gives the right lens's radii.

Nothing is done silently: ``notes`` says if the shape was moved to the boxed centre or mirrored from the left lens. It
must never know about requests or the database.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from dispensing.models.frames import Frame, ShapeOrigin
from dispensing.optics.boxing import FEWEST_RADII, LensShape
from dispensing.optics.errors import OpticsError
from dispensing.optics.shape_families import assumed_shape
from dispensing.optics.trace_files import FrameTrace, import_trace

OFF_CENTRE_MM = 0.05
STORED_DECIMALS = 3
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


class ShapeFault(ValueError):
    """A shape that cannot be read, with the reason in the trade's own terms."""


@dataclass(frozen=True)
class FrameShape:
    """The right lens's shape, where it came from, what was done to it on reading, and what else a trace file says."""

    lens: LensShape
    origin: str
    notes: tuple[str, ...] = ()
    dbl_mm: float | None = None
    front_curve_d: float | None = None

    @property
    def radii_mm(self) -> list[float]:
        return [round(float(radius), STORED_DECIMALS) for radius in self.lens.radii]

    @property
    def as_text(self) -> str:
        return radii_as_text(self.radii_mm)


def shape_from_text(text: str) -> FrameShape:
    """Radii in mm of the right lens, at least 36, separated by spaces, semicolons or lines; decimal comma or point."""
    radii = [float(word.replace(",", ".")) for word in _words(text)]
    if len(radii) < FEWEST_RADII:
        raise ShapeFault(f"{len(radii)} radii were found; a shape needs at least {FEWEST_RADII}, equally spaced.")
    if min(radii) > 500:
        raise ShapeFault(
            f"The radii begin with {radii[0]:g}: that looks like hundredths of a millimetre. "
            f"Type them in millimetres, as in {radii[0] / 100:g}, or load the tracer's file."
        )
    return _centred(radii, ShapeOrigin.RADII)


def shape_from_trace(data: bytes) -> FrameShape:
    """The shape in a tracer's ASCII file: the right lens, mirrored from the left if only that was traced."""
    try:
        trace = import_trace(data)
    except OpticsError as fault:
        raise ShapeFault(
            f"This file cannot be used as a trace. {fault} Choose the tracer's ASCII file, or paste the radii."
        ) from fault
    return FrameShape(
        trace.right,
        ShapeOrigin.TRACE,
        (*trace.warnings, *_mirrored(trace)),
        dbl_mm=trace.dbl_mm,
        front_curve_d=trace.front_curve_d["right"],
    )


def _mirrored(trace: FrameTrace) -> list[str]:
    if trace.derived is None:
        return []
    traced = "left" if trace.derived == "right" else "right"
    return [f"Only the {traced} lens was traced; the {trace.derived} one is its mirror image."]


def lens_shape_of(frame: Frame) -> LensShape | None:
    """The right lens of a stored frame: its own shape, or else one built from A, B and ED; None without A and B."""
    if frame.radii_mm:
        return LensShape(frame.radii_mm, "right")
    if frame.a_mm is None or frame.b_mm is None:
        return None
    try:
        return assumed_shape(float(frame.a_mm), float(frame.b_mm), None if frame.ed_mm is None else float(frame.ed_mm))
    except OpticsError:
        return None  # No lens can have these sizes; the page says so beside the figures.


def radii_as_text(radii_mm: list[float] | None) -> str:
    """Ten radii per line, in a form that can be pasted back."""
    written = [f"{radius:g}" for radius in radii_mm or []]
    return "\n".join(" ".join(written[start : start + 10]) for start in range(0, len(written), 10))


def _words(text: str) -> list[str]:
    words: list[str] = []
    for word in re.split(r"[\s;]+", text.replace("mm", " ").strip(" \n\r\t[]")):
        bare = word.rstrip(",")
        # "26.1,26.2" or "26,27,28": commas separate numbers if there is a point, or more than one comma.
        parts = bare.split(",") if "." in bare or bare.count(",") > 1 else [bare]
        words.extend(part for part in parts if part)
    for position, word in enumerate(words, start=1):
        if not _NUMBER.fullmatch(word):
            raise ShapeFault(f"Radius {position} reads “{word[:20]}”; it must be a length in mm, as in 26.1.")
    return words


def _centred(radii: list[float], origin: str) -> FrameShape:
    try:
        lens = LensShape(radii, "right")
        off_in, off_up = lens.off_centre_in_up_mm
        if max(abs(off_in), abs(off_up)) <= OFF_CENTRE_MM:
            return FrameShape(lens, origin)
        note = (
            f"The radii were taken {abs(off_in):.2f} mm sideways and {abs(off_up):.2f} mm upright of the boxed "
            "centre; they have been brought to it."
        )
        return FrameShape(lens.recentred(), origin, (note,))
    except OpticsError as fault:
        raise ShapeFault(str(fault)) from fault
