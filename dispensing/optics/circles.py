"""Circles and outlines: the farthest point, the part of an outline beyond a circle, the area they share.

Exact for the points given (a polygon's farthest point from anywhere is one of its corners). This module must never know
about lenses.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dispensing.optics import outline
from dispensing.optics.arrays import FloatArray, finite_array
from dispensing.optics.errors import OpticsError, require_finite, require_range

LARGEST_MM = 1e6


@dataclass(frozen=True)
class Circle:
    """A circle by its centre (x, y) and radius, all in the unit and frame of the points it belongs to (mm)."""

    x: float
    y: float
    radius: float


def _places(points: FloatArray) -> FloatArray:
    places = finite_array("points", points, "mm")
    if places.ndim != 2 or places.shape[1] != 2 or len(places) == 0:
        raise OpticsError("points", f"of shape {places.shape}", "", "at least one, as rows of x and y")
    return places


def farthest_from(points: FloatArray, x: float, y: float) -> tuple[float, int]:
    """Greatest distance of any point from (x, y), and which point that is. Points of shape (n, 2)."""
    at_x, at_y = require_finite("place, x", x, "mm"), require_finite("place, y", y, "mm")
    places = _places(points)
    distance = np.hypot(places[:, 0] - at_x, places[:, 1] - at_y)
    index = int(np.argmax(distance))
    return float(distance[index]), index


def parts_beyond(points: FloatArray, circle: Circle) -> list[FloatArray]:
    """The stretches of the outline that lie outside the circle, each an open line of points, shape (m, 2).

    The ends of each stretch lie on the circle (exact crossing of a side with it); an outline wholly outside comes back
    as one closed line, and one wholly inside as an empty list.
    """
    points, centre = _places(points), _centre(circle)
    runs: list[list[FloatArray]] = []
    for start, end in zip(points, outline.next_points(points), strict=True):
        piece = _outer_pieces(start - centre, end - centre, circle.radius)
        for low, high in piece:
            first, last = start + low * (end - start), start + high * (end - start)
            if runs and low == 0.0 and np.array_equal(runs[-1][-1], first):
                runs[-1].append(last)
            else:
                runs.append([first, last])
    if len(runs) > 1 and np.array_equal(runs[-1][-1], runs[0][0]):
        runs[0] = runs.pop() + runs[0][1:]
    return [np.array(run) for run in runs]


def _centre(circle: Circle) -> FloatArray:
    require_range("radius of the circle", circle.radius, "mm", 0.0, LARGEST_MM)
    return np.array(
        [require_range("centre of the circle", v, "mm", -LARGEST_MM, LARGEST_MM) for v in (circle.x, circle.y)]
    )


def _outer_pieces(start: FloatArray, end: FloatArray, radius: float) -> list[tuple[float, float]]:
    """Shares (from, to) of the side start→end, seen from the circle's centre, that lie outside the radius."""
    along = end - start
    a, b, c = float(along @ along), float(start @ along), float(start @ start) - radius * radius
    inside_at = b * b - a * c
    if a == 0.0 or inside_at <= 0.0:
        return [(0.0, 1.0)] if c > 0.0 else []
    root = float(np.sqrt(inside_at))
    enter, leave = (-b - root) / a, (-b + root) / a
    pieces = [(0.0, min(enter, 1.0)), (max(leave, 0.0), 1.0)]
    return [(low, high) for low, high in pieces if high > low]


def area_of_circle_within(points: FloatArray, circle: Circle) -> float:
    """Area common to the circle and the outline; exact (sectors and triangles, one side at a time).

    Source: Green's theorem over each side as seen from the circle's centre; our own derivation.
    """
    points = _places(points)
    start = points - _centre(circle)
    along = outline.next_points(start) - start
    a = np.einsum("ij,ij->i", along, along)
    b = np.einsum("ij,ij->i", start, along)
    c = np.einsum("ij,ij->i", start, start) - circle.radius**2
    reach = b * b - a * c
    root = np.sqrt(np.maximum(reach, 0.0))
    safe = np.where(a > 0.0, a, 1.0)
    enter = np.where(reach > 0.0, np.clip((-b - root) / safe, 0.0, 1.0), 0.0)
    leave = np.where(reach > 0.0, np.clip((-b + root) / safe, 0.0, 1.0), 0.0)
    into, out_of = start + enter[:, None] * along, start + leave[:, None] * along
    triangle = 0.5 * outline.cross(into, out_of)
    sectors = 0.5 * circle.radius**2 * (_turn(start, into) + _turn(out_of, start + along))
    return float((triangle + sectors).sum())


def _turn(first: FloatArray, second: FloatArray) -> FloatArray:
    """Signed angle from one direction to the other, radians, −π to π."""
    turn: FloatArray = np.arctan2(outline.cross(first, second), np.einsum("ij,ij->i", first, second))
    return turn
