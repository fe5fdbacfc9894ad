"""Backs turned about their apex for a prescribed prism: the curves that give power and prism, and where they lie.

Light along the optical axis meets the turned back at the angle α inside the lens and leaves it at α + d, where d is the
prism. A surface met obliquely is stronger than its curves say, and not equally along and across the turn; so the two
curves, and the direction of the axis, are those for which the light that is traced through the reference point has
the ordered power (generalised Coddington equations; see `oblique_lens` for their sources). Places are mm from the apex,
first towards the base of the prism (x), then across it, counter-clockwise (y); depth is + towards the eye. Everything
is an array whose rows are lenses. This module must never know about shapes or thicknesses.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.bare_sags import require_reach

ROUNDS = 3
"""Newton's steps from the osculating paraboloid: two leave 1e-7 mm at 30 Δ, three nothing that a float can hold."""

LEAST_ROOT = 1e-6


@dataclass(frozen=True, eq=False)
class Turn:
    """How far each back is turned: cosine and sine of α, shape (lenses, 1); α grows the lens towards the base."""

    cosine: FloatArray
    sine: FloatArray

    @classmethod
    def by_slope(cls, slope: FloatArray) -> Turn:
        """The turn whose tangent is `slope`, mm of thickness per mm at the reference point."""
        cosine = 1.0 / np.sqrt(1.0 + slope * slope)
        return cls(cosine, slope * cosine)

    def leaving_cosine(self, index: FloatArray) -> FloatArray:
        """Cosine of the angle α + d at which light along the optical axis leaves the back: sin(α + d) = n sin α."""
        return np.asarray(np.sqrt(1.0 - np.square(index * self.sine)))


@dataclass(frozen=True, eq=False)
class TurnedBacks:
    """Turned tori, arrays of shape (lenses, 1).

    `flat`, `steep`: curvatures (1/mm) along the two principal meridians, + hollow towards the eye; `cosine`, `sine`: of
    the angle in the surface from the base of the prism to the meridian of `flat`.
    """

    turn: Turn
    flat: FloatArray
    steep: FloatArray
    cosine: FloatArray
    sine: FloatArray

    def shrunk(self, scale: float) -> TurnedBacks:
        """The same surface drawn `scale` times as large as (its curvatures `scale` times as great)."""
        return TurnedBacks(self.turn, self.flat * scale, self.steep * scale, self.cosine, self.sine)

    def depth(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Exact depth in mm at places, shape (lenses, places): where lines along the optical axis meet the torus.

        In the frame of the surface a point of such a line is linear in its depth z, and it lies on the torus where its
        height above the tangent plane, z cos α − x sin α, is the sag at its place in that plane. Found by Newton's
        method from the osculating paraboloid. Raises OpticsError where the surface does not reach.
        """
        turn = self.turn
        flat_0, per_flat = turn.cosine * self.cosine * x + self.sine * y, turn.sine * self.cosine
        steep_0, per_steep = self.cosine * y - turn.cosine * self.sine * x, -turn.sine * self.sine
        lean = turn.sine * x
        depth = lean + 0.5 * (self.flat * np.square(flat_0) + self.steep * np.square(steep_0))
        depth /= turn.cosine
        for _ in range(ROUNDS):
            met = torus(self.flat, self.steep, flat_0 + per_flat * depth, steep_0 + per_steep * depth)
            missed = turn.cosine * depth - lean - met.sag
            depth -= missed / (turn.cosine - per_flat * met.in_flat - per_steep * met.in_steep)
        require_reach(met.swept_sq)
        require_reach(met.root_sq)
        return depth

    def at(self, along: FloatArray, across: FloatArray) -> BackPlaces:
        """Places given in the surface's own tangent plane, mm along its flatter and its steeper meridian.

        No search is needed for them. Finite, but meaningless, beyond the surface's reach.
        """
        turn = self.turn
        met = torus(self.flat, self.steep, along, across)
        towards_base = self.cosine * along - self.sine * across
        in_base = self.cosine * met.in_flat - self.sine * met.in_steep
        in_cross = self.sine * met.in_flat + self.cosine * met.in_steep
        fall = turn.cosine - turn.sine * in_base
        return BackPlaces(
            turn.cosine * towards_base - turn.sine * met.sag,
            self.sine * along + self.cosine * across,
            turn.sine * towards_base + turn.cosine * met.sag,
            (turn.sine + turn.cosine * in_base) / fall,
            in_cross / fall,
        )


@dataclass(frozen=True, eq=False)
class BackPlaces:
    """Places on backs: `x`, `y` and `depth` in mm, `in_x`, `in_y`: how the depth grows along x and y, mm per mm."""

    x: FloatArray
    y: FloatArray
    depth: FloatArray
    in_x: FloatArray
    in_y: FloatArray


class Torus(NamedTuple):
    """Sag in mm, its slopes along both meridians, and the squares under the two roots, negative beyond the reach."""

    sag: FloatArray
    in_flat: FloatArray
    in_steep: FloatArray
    swept_sq: FloatArray
    root_sq: FloatArray


def torus(flat: FloatArray, steep: FloatArray, along_flat: FloatArray, along_steep: FloatArray) -> Torus:
    """A torus in its own frame (derivation: `surface.toric_sag`); finite even where it does not reach."""
    bent = steep * along_steep
    swept_sq = 1.0 - bent * bent
    swept = np.sqrt(np.maximum(swept_sq, LEAST_ROOT))
    depth = bent * along_steep / (1.0 + swept)
    rest = 1.0 - flat * depth
    lift = flat * along_flat
    root_sq = rest * rest - lift * lift
    root = np.sqrt(np.maximum(root_sq, LEAST_ROOT))
    sag = (depth * (1.0 + rest) + lift * along_flat) / (1.0 + root)
    return Torus(sag, lift / root, rest * bent / (swept * root), swept_sq, root_sq)


@dataclass(frozen=True, eq=False)
class WantedPower:
    """Ordered power matrices in D, x along the base of the prism; arrays of shape (lenses, 1)."""

    xx: FloatArray
    xy: FloatArray
    yy: FloatArray

    @classmethod
    def of(cls, sphere: FloatArray, cylinder: FloatArray, axis_from_base: FloatArray) -> WantedPower:
        """From sphere and cylinder in D and the axis in radians, counted from the base."""
        half = cylinder / 2.0
        mean, j0, j45 = sphere + half, -half * np.cos(2.0 * axis_from_base), -half * np.sin(2.0 * axis_from_base)
        return cls(mean + j0, j45, mean - j0)


def turned_backs(
    wanted: WantedPower, before: FloatArray, nominal: FloatArray, index: FloatArray, turn: Turn
) -> TurnedBacks:
    """The backs behind which light along the optical axis has the wanted power, measured across the ray that leaves.

    before: vergence in D that reaches the back apex; nominal: the same for a lens without thickness, which decides
    which meridian counts as the flatter one, so that no thickness changes it. All of shape (lenses, 1).

    With c and c' the cosines of α and α + d, a step along the turn measures c across the ray before the back and c'
    after it; across the turn it keeps its length. So with V the vergence before and K the curvature of the surface,
    diag(c', 1) F diag(c', 1) = diag(c, 1) V diag(c, 1) + (c' − n c) K.
    """
    cosine, leaving = turn.cosine, turn.leaving_cosine(index)
    per_d = 1.0 / (1000.0 * (leaving - index * cosine))
    xx, xy, yy = leaving * leaving * wanted.xx, leaving * wanted.xy, wanted.yy
    mean = 0.5 * per_d * (xx + yy - (cosine * cosine + 1.0) * before)
    bent = mean + 0.5 * per_d * (cosine * cosine + 1.0) * (before - nominal)
    j0, j45 = 0.5 * per_d * (xx - yy + (1.0 - cosine * cosine) * before), per_d * xy
    half = np.where(bent < 0.0, -1.0, 1.0) * np.hypot(j0, j45)
    # The meridian with the curvature mean − half: that of mean + half lies across it.
    turned = 0.5 * np.arctan2(j45, j0) + np.where(bent < 0.0, 0.0, np.pi / 2.0)
    return TurnedBacks(turn, mean - half, mean + half, np.cos(turned), np.sin(turned))
