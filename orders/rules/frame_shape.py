"""The lens shapes of an order's frame: traced, else assumed from A, B and ED, else not available.

This module must never judge whether a trace agrees with the box figures.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, cast

from dispensing.optics.boxing import LONGEST_RADIUS_MM, LensShape
from dispensing.optics.errors import OpticsError, require_range
from dispensing.optics.shape_families import assumed_shape
from orders.documents.lens_order import Eye, FramePart, ShapePart

SHORTEST_RADIUS_MM = 1.0
"""Every radius of a lens is longer than this; a shorter one means a wrong unit or a bad reading."""


@dataclass(frozen=True)
class FrameShapes:
    """Both lens shapes, mirror images of each other, and where they come from; all None if there is no source."""

    right: LensShape | None = None
    left: LensShape | None = None
    origin: Literal["given", "assumed"] | None = None
    fault: OpticsError | None = None

    @classmethod
    def of(cls, frame: FramePart) -> FrameShapes:
        """The shapes from the trace; if there is none, or it cannot be used (`fault` says why), from the box."""
        fault = None
        if frame.shape is not None:
            try:
                traced = LensShape(_measured(frame.shape), frame.shape.side)
                require_range("shortest radius", float(traced.radii.min()), "mm", SHORTEST_RADIUS_MM, LONGEST_RADIUS_MM)
                return cls._pair(traced, "given")
            except OpticsError as error:
                fault = error
        return cls._assumed(frame, fault)

    @classmethod
    def _assumed(cls, frame: FramePart, fault: OpticsError | None) -> FrameShapes:
        if frame.a_mm is None or frame.b_mm is None:
            return cls(fault=fault)
        for ed_mm in (frame.ed_mm, None):
            # An ED that is impossible for A and B is a finding of its own; the box alone still gives a shape.
            try:
                return cls._pair(assumed_shape(frame.a_mm, frame.b_mm, ed_mm), "assumed", fault)
            except OpticsError:
                continue
        return cls(fault=fault)

    @classmethod
    def _pair(
        cls, shape: LensShape, origin: Literal["given", "assumed"], fault: OpticsError | None = None
    ) -> FrameShapes:
        other = shape.mirrored()
        right, left = (shape, other) if shape.side == "right" else (other, shape)
        return cls(right, left, origin, fault)

    def eye(self, eye: Eye) -> LensShape | None:
        return self.right if eye == "right" else self.left


def _measured(shape: ShapePart) -> tuple[float, ...]:
    """The radii, if every one was measured."""
    if None in shape.radii_mm:
        place = shape.radii_mm.index(None) + 1
        raise OpticsError(f"radius {place} of {len(shape.radii_mm)}", None, "mm", "a number above 0")
    return cast("tuple[float, ...]", shape.radii_mm)
