"""Tracers' files written for the tests: radii in hundredths of a millimetre, ten a line."""

from __future__ import annotations

from collections.abc import Sequence

from dispensing.optics.boxing import LensShape


def trace_file(radii: Sequence[float], sides: str = "RL", more: Sequence[str] = ()) -> bytes:
    """The radii as those of the first side named; a second side is its mirror image."""
    lines = list(more)
    shape = LensShape(list(radii), "right" if sides[0] == "R" else "left")
    for side, lens in zip(sides, (shape, shape.mirrored()), strict=False):
        hundredths = [str(round(float(radius) * 100)) for radius in lens.radii]
        lines.append(f"TRCFMT=1;{len(hundredths)};E;{side};F")
        lines.extend("R=" + ";".join(hundredths[start : start + 10]) for start in range(0, len(hundredths), 10))
    return ("\r\n".join(lines) + "\r\n").encode("ascii")
