"""The marks fitted to the one frame that they show: two equal lenses and, where they are known, its own sizes.

It works on propagated figures and must never do geometry. A mark, and how far the head was turned, are known within
their spreads beforehand; that both lenses are alike is one more observation of all of them at once, weighted by its own
±. So the marks help each other, and a turned head is allowed for as far as the boxes show it.

Derivation. With inputs x of covariance P, figures linear in them (slopes G) and observations h(x) = 0, slopes H,
covariance R, the best linear estimate moves the inputs by -K · h with K = P Hᵀ (H P Hᵀ + R)⁻¹, hence the figures by
-G K h; their slopes become G - G K H, and the observations' own errors enter with -G K (R. E. Kalman, J. Basic Eng.
82:35, 1960). Inputs stay independent, so that shares can still be told. What lies beyond three spreads is a slip of a
mark and no observation: it is left out here, and named elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.chain import Propagated
from dispensing.fitting.documents import EYES, FittingPoints, FrontPhoto
from dispensing.fitting.inputs import FRAME, Input
from dispensing.fitting.spreads import ALIKE_MM, ENGRAVED_MM, USUAL_TILT_DEG

HELPED = ("pd_mm", "near_pd_mm", "height_mm", "height_in_plane_mm", "binocular_pd_mm")
"""Figures of the eyes. The boxes' own sizes stay as marked, so that a mark that slipped still shows in them."""

BEYOND_SD = 3.0
ONE_FRAME = "one_frame"
"""The key under ``front.extra`` by which two equal lenses are taken for granted though B is not known."""


@dataclass(frozen=True)
class Observation:
    """A sum of figures (name → factor) that should come to ``should_be``, within the spread ``sd``."""

    figures: dict[str, float]
    should_be: float
    sd: float


def fitted_to_the_frame(propagated: Propagated, points: FittingPoints) -> Propagated:
    """The figures of the eyes as they follow from all marks together; everything else as it is."""
    place = {name: row for row, name in enumerate(propagated.figures)}
    observed = [one for one in _observations(points) if all(name in place for name in one.figures)]
    if not observed:
        return propagated
    factors = np.zeros((len(observed), len(place)))
    for row, one in enumerate(observed):
        for name, factor in one.figures.items():
            factors[row, place[name]] = factor
    values = np.array([_value(propagated, place, one) - one.should_be for one in observed])
    spreads = np.array([one.sd for one in observed])
    return _moved(propagated, factors, values, spreads)


def _value(propagated: Propagated, place: dict[str, int], one: Observation) -> float:
    return float(sum(factor * propagated.values[place[name]] for name, factor in one.figures.items()))


def _moved(propagated: Propagated, factors: FloatArray, values: FloatArray, spreads: FloatArray) -> Propagated:
    slopes = propagated.slopes
    variances = np.array([one.sd for one in propagated.inputs]) ** 2
    with np.errstate(all="ignore"):
        across = factors @ slopes
        covariance = (across * variances) @ across.T + np.diag(spreads**2)
        usable = np.isfinite(values) & np.isfinite(covariance).all(axis=1)
        usable &= np.abs(values) <= BEYOND_SD * np.sqrt(np.diag(covariance))
    if not usable.any():
        return propagated
    across, values = across[usable], values[usable]
    helped = np.array([name.rpartition(".")[2] in HELPED for name in propagated.figures], dtype=float)
    with np.errstate(all="ignore"):
        gain = np.linalg.solve(covariance[np.ix_(usable, usable)], across * variances).T
        moves = helped[:, np.newaxis] * (slopes @ gain)
    if not np.isfinite(moves).all():  # a spread beyond all sense
        return propagated
    noise = tuple(Input(f"front.frame.{row}", 0.0, float(sd), FRAME) for row, sd in enumerate(spreads[usable]))
    return replace(
        propagated,
        inputs=(*propagated.inputs, *noise),
        values=propagated.values - moves @ values,
        slopes=np.hstack([slopes - moves @ across, -moves]),
    )


def _observations(points: FittingPoints) -> Iterator[Observation]:
    front = points.front
    if front is None or not _is_one_frame(front):
        return
    for size in ("a", "b"):
        yield Observation({f"right.{size}_mm": 1.0, f"left.{size}_mm": -1.0}, 0.0, ALIKE_MM)
    if front.scale is None:
        return
    if front.scale.by == "frame":
        yield Observation({"dbl_excess_mm": 1.0}, 0.0, ENGRAVED_MM)
    if front.scale.b_mm is not None:
        yield from _of_known_depth(front.scale.b_mm, tilt_known=points.side is not None)


def _is_one_frame(front: FrontPhoto) -> bool:
    known = front.scale is not None and front.scale.b_mm is not None
    return known or (front.extra or {}).get(ONE_FRAME) is True


def _of_known_depth(b_mm: float, *, tilt_known: bool) -> Iterator[Observation]:
    """Along the lens it is B; seen from straight ahead, what the tilt leaves of it."""
    tilt, tilt_sd = np.radians(USUAL_TILT_DEG)
    name, seen = ("b_along_lens_mm", 1.0) if tilt_known else ("b_mm", float(np.cos(tilt)))
    hidden_sd = 0.0 if tilt_known else b_mm * float(np.sin(tilt) * tilt_sd)
    yield Observation({f"{eye}.{name}": 0.5 for eye in EYES}, b_mm * seen, float(np.hypot(ENGRAVED_MM, hidden_sd)))
