"""Some hundred lenses with prism and cylinder, traced ray by ray: ``python -m tests.optics.turned_lenses``.

Prints the worst differences between what was ordered and what real rays say, and between the body's thickness and that
of an independent solid; the tests hold the same figures to their limits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from dispensing.optics.lens_body import LensBody, lens_body
from dispensing.optics.power import SphereCylinder
from dispensing.optics.shape_families import assumed_shape
from tests.optics.real_rays import TurnedLens, power_and_prism_on_axis

SHAPE = assumed_shape(50.0, 38.0, 53.0, "panto")
MIN_CENTRE_MM, MIN_EDGE_MM = 1.8, 1.0


@dataclass(frozen=True)
class Lens:
    """One ordered lens: power in D, prism in Δ, and its body."""

    power: SphereCylinder
    prism_in: float
    prism_up: float
    index: float
    body: LensBody

    @property
    def solid(self) -> TurnedLens:
        body = self.body
        return TurnedLens(body.front_curvature, body.back, body.centre_thickness_mm, self.index)


def lenses(count: int, seed: int = 1) -> list[Lens]:
    """Lenses of either eye from −8 to +6 D, cylinders to 4 D at any axis, prism to 10 Δ at any base."""
    random = np.random.default_rng(seed)
    return [_lens(random) for _ in range(count)]


def _lens(random: np.random.Generator) -> Lens:
    power = SphereCylinder(random.uniform(-8.0, 6.0), random.uniform(-4.0, 0.0), random.uniform(1.0, 180.0))
    amount, base = random.uniform(0.25, 10.0), random.uniform(0.0, 2.0 * math.pi)
    prism_in, prism_up = amount * math.cos(base), amount * math.sin(base)
    index = float(random.choice([1.5, 1.6, 1.67, 1.74]))
    made: dict[str, Any] = {
        "index": index,
        "density_g_cm3": 1.3,
        "front_curve_d": float(np.clip(5.0 + power.mean_sphere / 2.0, 1.0, 9.0)),
        "min_centre_mm": MIN_CENTRE_MM,
        "min_edge_mm": MIN_EDGE_MM,
        "reference_in_up_mm": (random.uniform(-2.0, 5.0), random.uniform(-4.0, 3.0)),
    }
    shape = SHAPE if random.random() < 0.5 else SHAPE.mirrored()
    return Lens(power, prism_in, prism_up, index, lens_body(shape, power, prism_in=prism_in, prism_up=prism_up, **made))


def traced_differences(lens: Lens) -> tuple[float, float]:
    """How far real rays are from the ordered power (largest element of the matrix, D) and prism (Δ)."""
    power, prism = power_and_prism_on_axis(lens.solid)
    ordered = np.array([lens.prism_in * lens.body.shape.in_sign, lens.prism_up])
    return float(np.abs(power - lens.power.matrix()).max()), float(np.hypot(*(prism - ordered)))


def solid_thickness(lens: Lens, in_mm: float, up_mm: float) -> float:
    """Thickness in mm from the solid's own surfaces: the front's circle in trigonometry, the back by iteration."""
    x = (in_mm - lens.body.reference_in_up_mm[0]) * lens.body.shape.in_sign
    y = up_mm - lens.body.reference_in_up_mm[1]
    radius = 1.0 / lens.body.front_curvature
    front = radius * (1.0 - math.cos(math.asin(math.hypot(x, y) / radius)))
    return lens.body.centre_thickness_mm + lens.solid.depth_at(x, y) - front


def main() -> None:
    drawn = lenses(400)
    power, prism = (max(values) for values in zip(*map(traced_differences, drawn), strict=True))
    print(f"{len(drawn)} lenses traced: power differs by {power:.1e} D at most, prism by {prism:.1e} Δ")
    inside = [lens for lens in drawn if lens.body.thinnest_mm < lens.body.edge_min_mm - 1e-9]
    apart = [abs(solid_thickness(lens, *lens.body.thinnest_at) - lens.body.thinnest_mm) for lens in drawn]
    print(
        f"{len(inside)} are thinnest inside; the thinnest place differs from the solid by {max(apart):.1e} mm at most"
    )


if __name__ == "__main__":
    main()
