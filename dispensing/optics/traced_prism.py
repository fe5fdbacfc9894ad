"""The prism a thick lens really gives away from its centre, by following one ray through both surfaces.

Prentice's rule (`prism`) is for thin lenses near their centre: it leaves out spherical aberration, which grows with the
distance cubed, and is out by a third of a prism dioptre 10 mm from the centre of a strong lens. Here light parallel to
the optical axis enters the front at a place on the viewer's chart (mm from the apex) and is refracted by Snell's law in
vector form at the sphere and at the toric back, turned or not; so a prescribed prism is included. This module must
never know about shapes or orders.
"""

from __future__ import annotations

import math

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.errors import OpticsError, require_range
from dispensing.optics.surface import LOWEST_INDEX, THICKEST_MM, WIDEST_MM, ToricBack, sag

MOST_ROUNDS = 30
CLOSE_ENOUGH_MM = 1e-12


def traced_prism(
    back: ToricBack, front_curvature: float, centre_thickness_mm: float, x_mm: float, y_mm: float
) -> tuple[float, float]:
    """The prism in Δ by its base, right and up on the viewer's chart, where light enters the front at a place.

    front_curvature: 1/mm. Raises OpticsError where a surface does not reach or the light cannot leave the lens.
    """
    x, y = (require_range("place on the lens", value, "mm", -WIDEST_MM, WIDEST_MM) for value in (x_mm, y_mm))
    thickness = require_range("centre thickness", centre_thickness_mm, "mm", 0.0, THICKEST_MM)
    index = require_range("refractive index", back.index, "", LOWEST_INDEX, math.inf)
    entered = np.array([x, y, float(sag(front_curvature, x * x + y * y))])
    # The normal of a sphere runs from the centre of curvature; here all normals point along the light.
    normal = np.array([-front_curvature * x, -front_curvature * y, 1.0 - front_curvature * entered[2]])
    inside = _refracted(np.array([0.0, 0.0, 1.0]), normal, 1.0, index)
    left = _refracted(inside, _back_normal(back, entered - np.array([0.0, 0.0, thickness]), inside), index, 1.0)
    across = 100.0 * left[:2] / left[2]
    return float(across[0]), float(across[1])


def _refracted(direction: FloatArray, normal: FloatArray, before: float, after: float) -> FloatArray:
    """Snell's law: the part across the normal scales with the index, the rest keeps the direction a unit vector."""
    across = before / after * (direction - float(direction @ normal) * normal)
    flat = float(across @ across)
    if flat >= 1.0:
        raise OpticsError("place on the lens", "too far out", "", "one where light can leave the lens")
    result: FloatArray = across + math.sqrt(1.0 - flat) * normal
    return result


def _back_normal(back: ToricBack, start: FloatArray, direction: FloatArray) -> FloatArray:
    """The back's normal where a ray meets it; start: mm from the back apex."""
    frame = back.frame()
    place, along = frame @ start, frame @ direction
    length = -float(place[2]) / float(along[2])
    for _ in range(MOST_ROUNDS):
        at = place + length * along
        depth, in_flat, in_steep = back.sag_and_slopes(float(at[0]), float(at[1]))
        normal = np.array([-in_flat, -in_steep, 1.0])
        step = float(at[2] - depth) / float(along @ normal)
        length -= step
        if abs(step) < CLOSE_ENOUGH_MM:
            break
    upright: FloatArray = frame.T @ normal / float(np.linalg.norm(normal))
    return upright
