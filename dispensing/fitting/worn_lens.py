"""A lens of known power before an eye, through which a photo shows the pupil and the eye sees the camera.

Derivation. A ray that meets the lens at L, a way L - O from its optical centre O, is bent towards O by F · (L - O), F
in 1/mm (Prentice); with a cylinder F is a matrix, and as numbers x + iy it is F z = M z + (J0 + i J45) conj(z) with
the power vector of the lens. The camera's ray q meets the lens plane at L = D · q; behind it the ray runs on with the
slope q - F (L - O). Whoever looks at the camera looks along that very ray, so the centre of rotation lies on it, s ·
F (L - O) nearer to O than without the lens. Whoever looks far leaves the lens level and has the same slope behind it
where that line of sight meets the lens. A thin lens; the depth of its body is not counted. Powers are as the
lensmeter reads them, axes as on paper (TABO).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from dispensing.fitting.arrays import ComplexArray, FloatArray
from dispensing.fitting.documents import EYES, Eye, FrontPhoto
from dispensing.optics.power_vector import vectors_of
from dispensing.trade import figure

WORN = "worn"
"""The key under ``front.extra``: by eye ``sphere``, ``cylinder``, ``axis``, and ``pd_mm`` and ``height_mm`` of the
optical centre where it is known."""

POWERS = ("sphere", "cylinder", "axis")
CENTRE = ("pd_mm", "height_mm")
_MOST = ("most_sphere_d", "most_cylinder_d", "most_axis_deg", "most_pd_mm", "most_height_mm")
MOST = {name: figure("worn-lens", fact) for name, fact in zip((*POWERS, *CENTRE), _MOST, strict=True)}
"""Beyond these nothing is a lens, and is not taken."""

TOLD_SD_MM = figure("worn-lens", "told_sd_mm")
ASSUMED_IN_SD_MM = figure("worn-lens", "assumed_in_sd_mm")
"""Of both lenses alike: a pair that is centred too narrow is so for either eye; what they differ by is as if told."""

ASSUMED_UP_SD_MM = figure("worn-lens", "assumed_up_sd_mm")
PASSES = 6
"""The centre assumed before the pupil depends on where the eye is; each pass leaves a quarter of the rest at most."""


@dataclass(frozen=True)
class WornLens:
    """``power``: M and J0 + i J45 in 1/mm. ``pd_mm``, ``height_mm``: of the optical centre; None where not known."""

    power: tuple[float, complex]
    pd_mm: float | None
    height_mm: float | None

    def bends(self, off_centre_mm: ComplexArray) -> ComplexArray:
        """How far a ray that meets the lens there is bent towards the centre, as a slope."""
        mean, cross = self.power
        bent: ComplexArray = mean * off_centre_mm + cross * np.conj(off_centre_mm)
        return bent

    @property
    def up_sd_mm(self) -> float:
        """One standard deviation of how high the centre lies."""
        return ASSUMED_UP_SD_MM if self.height_mm is None else TOLD_SD_MM


def worn_before(front: FrontPhoto) -> dict[Eye, WornLens]:
    """The lenses worn on a photo, by eye; those without power are none."""
    told = kept_worn(front.extra)
    return {eye: _lens(told[eye]) for eye in EYES if any(told.get(eye, {}).get(name) for name in POWERS[:2])}


def kept_worn(extra: Any) -> dict[str, dict[str, float]]:
    """What ``extra`` says of the lenses worn, without anything that no lens has."""
    worn = extra.get(WORN) if isinstance(extra, Mapping) else None
    if not isinstance(worn, Mapping):
        return {}
    told = {eye: dict(_numbers(worn.get(eye))) for eye in EYES}
    return {eye: numbers for eye, numbers in told.items() if numbers}


def _numbers(lens: Any) -> Iterator[tuple[str, float]]:
    for name in (*POWERS, *CENTRE):
        value = lens.get(name) if isinstance(lens, Mapping) else None
        if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= MOST[name]:
            yield name, float(value)


def _lens(told: Mapping[str, float]) -> WornLens:
    sphere, cylinder, axis = (told.get(name, 0.0) for name in POWERS)
    mean, j0, j45 = (float(part) / 1000 for part in vectors_of(sphere, cylinder, axis))
    return WornLens((mean, complex(j0, j45)), told.get("pd_mm"), told.get("height_mm"))


@dataclass(frozen=True)
class Before:
    """Where a worn lens stands: ``bridge`` and ``lowest`` (of the lens), ``middle`` (half of B), in mm of the lens
    plane; ``off`` is how far its centre really lies from where it is taken to lie, across + i · up.
    """

    lens: WornLens
    outwards: float
    bridge: FloatArray
    lowest: FloatArray
    middle: FloatArray
    off: ComplexArray

    def centre(self, eye: ComplexArray) -> ComplexArray:
        """The optical centre: as told, otherwise straight before the eye and at half of B."""
        told_pd, told_height = self.lens.pd_mm, self.lens.height_mm
        across = eye.real if told_pd is None else self.bridge + self.outwards * told_pd
        up = self.middle if told_height is None else self.lowest + told_height
        centre: ComplexArray = across + 1j * up + self.off
        return centre


def seen_through(bare: ComplexArray, at_lens: ComplexArray, depth_mm: FloatArray, before: Before) -> ComplexArray:
    """Where something on the ray through ``at_lens`` lies, ``depth_mm`` behind the lens; ``bare``: without the lens."""
    found = bare
    for _ in range(PASSES):
        found = bare - depth_mm * before.lens.bends(at_lens - before.centre(found))
    return found
