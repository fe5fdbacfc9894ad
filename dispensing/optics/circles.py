"""Circles and outlines: the smallest circle around points, exact, and the part of an outline beyond a circle.

Exact for the points given (a polygon's farthest point from anywhere is one of its corners). Knows no lenses.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from dispensing.optics import outline
from dispensing.optics.arrays import FloatArray, finite_array
from dispensing.optics.errors import OpticsError, require_finite, require_range

LARGEST_MM = 1e6
TOUCH_TOLERANCE = 1e-12  # relative; a point this close outside counts as on the circle


@dataclass(frozen=True)
class Circle:
    """A circle by its centre (x, y) and radius, all in the unit and frame of the points it came from (mm)."""

    x: float
    y: float
    radius: float

    @property
    def diameter(self) -> float:
        """Twice the radius."""
        return 2.0 * self.radius

    def clearance(self, points: FloatArray) -> float:
        """Radius minus the farthest point's distance from the centre: ≥ 0 when every point lies inside."""
        return self.radius - float(farthest_from(points, self.x, self.y)[0])


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


def smallest_enclosing_circle(points: FloatArray) -> Circle:
    """The smallest circle that holds every point; exact to rounding, not sampled or iterated to a tolerance.

    Points of shape (n, 2), n ≥ 1. Method: keep the two or three points that carry the circle; while some
    point lies outside, take the farthest one in and find the smallest circle of these few. The radius never
    shrinks, so the search ends. Where the points stand on one circle but for rounding, no few of them carry it
    surely: the circle then is larger than the smallest by a millionth of a mm at most, and holds every point.
    Raises OpticsError without points or with one not finite.
    """
    cloud = _places(points)
    carriers = [cloud[0]]
    circle = Circle(float(cloud[0, 0]), float(cloud[0, 1]), 0.0)
    for _ in range(len(cloud) + 64):
        distance, index = farthest_from(cloud, circle.x, circle.y)
        if distance <= circle.radius * (1.0 + TOUCH_TOLERANCE) + TOUCH_TOLERANCE:
            break
        larger, kept = _smallest_of_few([*carriers, cloud[index]])
        # Equal to the last digit is no standstill: the centre may still move by more than the radius grows.
        if larger.radius < circle.radius:
            break
        circle, carriers = larger, kept
    return Circle(circle.x, circle.y, max(circle.radius, farthest_from(cloud, circle.x, circle.y)[0]))


def _smallest_of_few(points: list[FloatArray]) -> tuple[Circle, list[FloatArray]]:
    """Smallest circle of up to four points, and the two or three that carry it."""
    best: tuple[Circle, list[FloatArray]] | None = None
    for size in (2, 3):
        for chosen in combinations(points, size):
            circle = _through_two(*chosen) if size == 2 else _through_three(*chosen)
            if circle is None or (best is not None and circle.radius >= best[0].radius):
                continue
            slack = TOUCH_TOLERANCE * (1.0 + circle.radius)
            if all(np.hypot(p[0] - circle.x, p[1] - circle.y) <= circle.radius + slack for p in points):
                best = (circle, list(chosen))
    assert best is not None  # two points always have one; of three or four some pair or triple holds all
    return best


def _through_two(first: FloatArray, second: FloatArray) -> Circle:
    """The circle with the two points as a diameter."""
    middle = (first + second) / 2.0
    radius = float(np.hypot(*(second - first))) / 2.0
    return Circle(float(middle[0]), float(middle[1]), radius)


def _through_three(first: FloatArray, second: FloatArray, third: FloatArray) -> Circle | None:
    """The circle through three points, or None when they stand in a line."""
    b, c = second - first, third - first
    twice_area = 2.0 * (b[0] * c[1] - b[1] * c[0])
    if abs(twice_area) < 1e-300:
        return None
    x = (c[1] * (b @ b) - b[1] * (c @ c)) / twice_area
    y = (b[0] * (c @ c) - c[0] * (b @ b)) / twice_area
    return Circle(float(first[0] + x), float(first[1] + y), float(np.hypot(x, y)))


def parts_beyond(points: FloatArray, circle: Circle) -> list[FloatArray]:
    """The stretches of the outline that lie outside the circle, each an open line of points, shape (m, 2).

    The ends of each stretch lie on the circle (exact crossing of a side with it); an outline wholly outside
    comes back as one closed line, one wholly inside as an empty list.
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
    """Area common to the circle and the outline; exact (sectors and triangles, side by side).

    Source: Green's theorem over each side seen from the circle's centre; a derivation of our own.
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
