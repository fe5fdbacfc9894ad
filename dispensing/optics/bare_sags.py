"""The sag of a sphere and of a torus, for curvatures (1/mm) and squared distances (mm²) already checked.

`surface.sag` and `surface.toric_sag` check their figures and then call this module; the innermost steps of a lens body,
whose figures were checked with the lens, call it directly. One check is left to be made here, because it cannot be made
on the figures alone: that the surface reaches the place. This module must never know about lenses.
"""

from __future__ import annotations

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.errors import OpticsError


def bare_sag(curvature: FloatArray, distance_squared: FloatArray) -> FloatArray:
    """Sag in mm of a sphere: c y²/(1 + √(1 − c² y²)). Raises OpticsError where the sphere does not reach."""
    under_root = 1.0 - np.square(curvature) * distance_squared
    require_reach(under_root)
    result: FloatArray = curvature * distance_squared / (1.0 + np.sqrt(under_root))
    return result


def bare_toric_sag(
    flat: FloatArray, steep: FloatArray, along_flat_sq: FloatArray, along_steep_sq: FloatArray
) -> FloatArray:
    """Sag in mm of a torus; both arrays of squares have one shape (derivation: `surface.toric_sag`). Raises OpticsError
    where the torus does not reach. Computed in place, because a lens body spends most of its time here.
    """
    depth = np.asarray(steep * along_steep_sq)
    root = np.asarray(steep * depth)
    np.subtract(1.0, root, out=root)
    require_reach(root)
    np.sqrt(root, out=root)
    root += 1.0
    depth /= root
    rest = np.asarray(flat * depth)
    np.subtract(1.0, rest, out=rest)
    lift = np.asarray(flat * along_flat_sq)
    np.multiply(rest, rest, out=root)
    root -= flat * lift
    require_reach(root)
    np.sqrt(root, out=root)
    root += 1.0
    rest += 1.0
    depth *= rest
    depth += lift
    depth /= root
    return depth


def require_reach(under_root: float | FloatArray) -> None:
    """A surface ends where its own circle ends; beyond that there is no sag."""
    least = float(np.asarray(under_root).min(initial=1.0))
    if not least > 0.0:
        advice = "Use a flatter curve, a smaller frame or a material of higher index."
        allowed = "less than the radius of the surface"
        raise OpticsError("distance of the edge from the centre of the lens", "too great", "", allowed, advice)
