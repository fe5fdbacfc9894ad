"""Segments of bifocal and trifocal lenses in the drawing: flat-top, round, and the straight full-width line.

Only the part within the lens shape is drawn: whatever is cut away for the frame is gone from the lens too.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.pictures.picture import Picture, Point
from orders.documents.lens_catalogue import Segment
from orders.drawings.layout import EyeLayout

CORNERS = 48


def draw_segment(picture: Picture, eye: EyeLayout, segment: Segment) -> None:
    """The segment with its top at the ordered height and its inset towards the nose."""
    if eye.reference is None or eye.shape is None:
        return
    x, top = eye.reference
    if segment.is_full_width:
        left, right, _, _ = eye.shape.box
        _draw_within(picture, eye, _fine([(eye.centre_x + left, top), (eye.centre_x + right, top)]))
        return
    if not segment.width_mm or segment.width_mm <= 0.0:
        return
    middle = (x + eye.in_sign * (segment.inset_mm or 0.0), top)
    outline = segment_outline(middle, segment.width_mm, segment.depth_mm)
    _draw_within(picture, eye, _fine([*outline, outline[0]]))


def _fine(corners: list[Point]) -> FloatArray:
    """The line with points at most 0.2 mm apart, so that it can be cut where the lens shape ends; shape (n, 2)."""
    pieces = []
    for start, end in pairwise(corners):
        steps = max(1, math.ceil(math.dist(start, end) / 0.2))
        pieces.append(np.linspace(start, end, steps, endpoint=False))
    return np.concatenate([*pieces, np.array([corners[-1]])])


def _draw_within(picture: Picture, eye: EyeLayout, line: FloatArray) -> None:
    """Draw the parts of the line that lie within the lens shape."""
    assert eye.shape is not None
    inside = eye.shape.contains((line[:, 0] - eye.centre_x) * eye.in_sign, line[:, 1])
    ends = np.flatnonzero(np.diff(inside)) + 1
    for part, within in zip(np.split(line, ends), np.split(inside, ends), strict=True):
        if within[0] and len(part) > 1:
            picture.polyline(part, "segment")


def segment_outline(top_middle: Point, width_mm: float, depth_mm: float | None) -> list[Point]:
    """A circle of the segment's width, cut off straight at the top to leave the given depth.

    With no depth, or a depth equal to the width or more, the segment is a full circle. In mm, y up.
    """
    radius = width_mm / 2.0
    depth = width_mm if depth_mm is None else min(max(depth_mm, 0.1), width_mm)
    centre_y = top_middle[1] - depth + radius
    # The cut lies `depth - radius` above the centre; the outline runs from its right end round below to its left.
    start = math.asin(max(-1.0, min(1.0, (depth - radius) / radius)))
    sweep = math.pi + 2.0 * start
    angles = (start - sweep * step / CORNERS for step in range(CORNERS + 1))
    return [(top_middle[0] + radius * math.cos(angle), centre_y + radius * math.sin(angle)) for angle in angles]
