"""A plain ray tracer for one thick lens, written from Snell's law alone, to check the optics core by.

It knows nothing of Coddington: it sends single rays through a spherical front and a quadric back, or a torus turned
about its apex, finds where they meet by iteration, and measures how their directions change with their place. Lengths
in mm; the lens has its back apex at the origin and z towards the object; the world has x right, y up, z to the viewer.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from dispensing.optics.surface import ToricBack

Vector = NDArray[np.float64]


def refracted(direction: Vector, normal: Vector, index_before: float, index_after: float) -> Vector:
    """Snell's law in vector form; `normal` points against the light."""
    ratio = index_before / index_after
    cos_before = -float(direction @ normal)
    cos_after = math.sqrt(1.0 - ratio**2 * (1.0 - cos_before**2))
    return ratio * direction + (ratio * cos_before - cos_after) * normal


class ThickLens:
    """Front sphere of curvature `front` (1/mm) at (0, 0, thickness); back z = xᵀ C x / 2 through the origin."""

    def __init__(self, front: float, back: NDArray[np.float64], thickness_mm: float, index: float) -> None:
        self.front, self.back, self.thickness, self.index = front, back, thickness_mm, index

    def traced(self, point: Vector, direction: Vector) -> tuple[Vector, Vector]:
        """A ray from before the lens to just behind its back: point on the back and direction in air."""
        point = _meeting(point, direction, self._front_gap)
        inside = refracted(direction, _unit(_slope(point, self._front_gap)), 1.0, self.index)
        point = _meeting(point, inside, self._back_gap)
        return point, refracted(inside, _unit(_slope(point, self._back_gap)), self.index, 1.0)

    def traced_backwards(self, leaving: Vector) -> Vector:
        """Direction in object space of the ray that passes the back apex and leaves along `leaving`."""
        inside = refracted(-leaving, -self.back_normal(), 1.0, self.index)
        point = _meeting(np.zeros(3), inside, self._front_gap)
        return -refracted(inside, -_unit(_slope(point, self._front_gap)), self.index, 1.0)

    def back_normal(self) -> Vector:
        """The back's normal at its apex, towards the object."""
        return _unit(_slope(np.zeros(3), self._back_gap))

    def _front_gap(self, p: Vector) -> float:
        """Zero on the front, positive before it."""
        below = p[2] - self.thickness
        return float(below + self.front * (p[0] ** 2 + p[1] ** 2 + below**2) / 2.0)

    def _back_gap(self, p: Vector) -> float:
        return float(p[2] + p[:2] @ self.back @ p[:2] / 2.0)


class TurnedLens(ThickLens):
    """The same with a torus for its back, turned about its apex; see `ToricBack` for what it is described by.

    Seen from the eye's side z would run the other way, so curvatures, + hollow towards the eye, count down z here.
    """

    def __init__(self, front: float, back: ToricBack, thickness_mm: float, index: float) -> None:
        super().__init__(front, np.zeros((2, 2)), thickness_mm, index)
        base, turned = math.radians(back.base_deg), math.atan(back.slope)
        towards = np.array([math.cos(base), math.sin(base), 0.0])
        aside = np.array([-math.sin(base), math.cos(base), 0.0])
        in_plane = math.cos(turned) * towards - math.sin(turned) * np.array([0.0, 0.0, 1.0])
        axis = math.radians(back.axis_deg) - base
        along = math.cos(axis) * in_plane + math.sin(axis) * aside
        across = math.cos(axis) * aside - math.sin(axis) * in_plane
        down = -math.sin(turned) * towards - math.cos(turned) * np.array([0.0, 0.0, 1.0])
        assert back.flat_along
        self.frame = np.array([along, across, down])
        self.curves = back.curvatures

    def _back_gap(self, p: Vector) -> float:
        """How far above the torus: the circle across the axis, swept along it."""
        along, across, down = self.frame @ p
        flat, steep = self.curves
        sag = steep * across**2 / (1.0 + math.sqrt(1.0 - (steep * across) ** 2))
        if abs(flat) < 1e-12:
            return float(sag - down)
        return float((1.0 - flat * down) ** 2 + (flat * along) ** 2 - (1.0 - flat * sag) ** 2) / (2.0 * flat)

    def depth_at(self, x: float, y: float) -> float:
        """Where the line along the optical axis through (x, y) meets the back, mm towards the eye from the apex."""
        return -float(_meeting(np.array([x, y, -1.0]), np.array([0.0, 0.0, -1.0]), self._back_gap)[2])


def power_and_prism_on_axis(lens: TurnedLens, step_mm: float = 0.1) -> tuple[NDArray[np.float64], Vector]:
    """Power matrix in D and prism in Δ (by its base, x and y) of light along the optical axis, at the back apex.

    The matrix is in the plane across the ray that leaves, whose axes are those of the chart turned with the ray.
    """
    arriving = np.array([0.0, 0.0, -1.0])
    _, leaving = lens.traced(np.array([0.0, 0.0, 10.0]), arriving)
    turn = _least_turn(arriving, leaving)
    places, slopes = [], []
    for side in np.eye(3)[:2]:
        ends = []
        for sign in (1.0, -1.0):
            place, direction = lens.traced(np.array([0.0, 0.0, 10.0]) + sign * step_mm * side, arriving)
            place, direction = turn.T @ place, turn.T @ direction
            slope = direction[:2] / -direction[2]
            ends.append((place[:2] + slope * place[2], slope))
        places.append((ends[0][0] - ends[1][0]) / (2.0 * step_mm))
        slopes.append((ends[0][1] - ends[1][1]) / (2.0 * step_mm))
    power = -1000.0 * np.array(slopes).T @ np.linalg.inv(np.array(places).T)
    return power, 100.0 * leaving[:2] / -leaving[2]


def _least_turn(before: Vector, after: Vector) -> NDArray[np.float64]:
    """The rotation that takes one direction to the other by the shortest way (Rodrigues)."""
    axis, cosine = np.cross(before, after), float(before @ after)
    cross = np.array([[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    return np.asarray(np.eye(3) + cross + cross @ cross / (1.0 + cosine))


def felt_power(lens: ThickLens, rotation: NDArray[np.float64], step_mm: float = 0.02) -> NDArray[np.float64]:
    """The power matrix in D along the line of sight, from a bundle of parallel rays around it.

    Central differences of four rays; world axes across the line of sight, at the back apex.
    """
    leaving = rotation.T @ np.array([0.0, 0.0, -1.0])
    arriving = lens.traced_backwards(leaving)
    start = _back_apex_ray_start(lens, arriving, leaving)
    first = np.cross([0.0, 1.0, 0.0], arriving)
    first /= np.linalg.norm(first)
    across = (first, np.cross(arriving, first))
    places, slopes = [], []
    for side in across:
        plus = _at_eye_plane(lens, rotation, start + step_mm * side, arriving)
        minus = _at_eye_plane(lens, rotation, start - step_mm * side, arriving)
        places.append((plus[0] - minus[0]) / (2.0 * step_mm))
        slopes.append((plus[1] - minus[1]) / (2.0 * step_mm))
    return -1000.0 * np.array(slopes).T @ np.linalg.inv(np.array(places).T)


def _back_apex_ray_start(lens: ThickLens, arriving: Vector, leaving: Vector) -> Vector:
    """A point before the lens on the ray that will pass the back apex."""
    inside = -refracted(-leaving, -lens.back_normal(), 1.0, lens.index)
    on_front = _meeting(np.zeros(3), -inside, lens._front_gap)
    return on_front - 5.0 * arriving


def _at_eye_plane(
    lens: ThickLens, rotation: NDArray[np.float64], point: Vector, direction: Vector
) -> tuple[Vector, Vector]:
    """Where a ray crosses the plane through the back apex across the line of sight, and its slope there."""
    place, leaving = lens.traced(point, direction)
    place, leaving = rotation @ place, rotation @ leaving
    slope = leaving[:2] / -leaving[2]
    return place[:2] + slope * place[2], slope


def _meeting(point: Vector, direction: Vector, gap: object) -> Vector:
    """Where the ray meets the surface gap(p) = 0, by Newton's steps."""
    assert callable(gap)
    for _ in range(50):
        miss = gap(point)
        point = point - miss / float(_slope(point, gap) @ direction) * direction
        if abs(miss) < 1e-13:
            break
    return point


def _slope(point: Vector, gap: object) -> Vector:
    assert callable(gap)
    h = 1e-6
    return np.array([(gap(point + h * e) - gap(point - h * e)) / (2.0 * h) for e in np.eye(3)])


def _unit(vector: Vector) -> Vector:
    return vector / float(np.linalg.norm(vector))
