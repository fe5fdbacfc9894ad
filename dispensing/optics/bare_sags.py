"""The sag of a sphere and of a torus, for curvatures (1/mm) and squared distances (mm²) that are known to be good.

`surface.sag` and `surface.toric_sag` check their figures and come here; the innermost steps of a lens body, whose
figures were checked with the lens, come here directly. What the figures alone cannot tell is still checked: that the
surface reaches the place. This module must never know about lenses.
"""

from __future__ import annotations

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.errors import OpticsError


def bare_sag(curvature: FloatArray, distance_squared: FloatArray) -> FloatArray:
    """Sag in mm of a sphere: c y²/(1 + √(1 − c² y²)). Raises OpticsError where the sphere does not reach."""
    under_root = 1.0 - np.square(curvature) * distance_squared
    _require_reach(under_root)
    result: FloatArray = curvature * distance_squared / (1.0 + np.sqrt(under_root))
    return result


def bare_toric_sag(
    flat: FloatArray, steep: FloatArray, along_flat_sq: FloatArray, along_steep_sq: FloatArray
) -> FloatArray:
    """Sag in mm of a torus, squares of one shape (derivation: `surface.toric_sag`). Raises OpticsError where the
    torus does not reach. Worked in place: this is where the time of a lens body goes.
    """
    depth = np.asarray(steep * along_steep_sq)
    root = np.asarray(steep * depth)
    np.subtract(1.0, root, out=root)
    _require_reach(root)
    np.sqrt(root, out=root)
    root += 1.0
    depth /= root
    rest = np.asarray(flat * depth)
    np.subtract(1.0, rest, out=rest)
    lift = np.asarray(flat * along_flat_sq)
    np.multiply(rest, rest, out=root)
    root -= flat * lift
    _require_reach(root)
    np.sqrt(root, out=root)
    root += 1.0
    rest += 1.0
    depth *= rest
    depth += lift
    depth /= root
    return depth


def _require_reach(under_root: float | FloatArray) -> None:
    """A surface ends where its own circle does: there is no sag beyond."""
    least = float(np.asarray(under_root).min(initial=1.0))
    if not least > 0.0:
        advice = "Use a flatter curve, a smaller frame or a material of higher index."
        allowed = "less than the radius of the surface"
        raise OpticsError("distance of the edge from the centre of the lens", "too great", "", allowed, advice)
