"""A lens is worked out to the same bits by itself and among others: a comparison and the check must not differ."""

from __future__ import annotations

import numpy as np
import pytest

from dispensing.optics.lens_batches import CHUNK, lens_bodies
from dispensing.optics.lens_body import lens_body
from dispensing.optics.power import SphereCylinder
from dispensing.optics.shape_families import assumed_shape

LENSES = 3 * CHUNK + 7
KEYS = ("centre_thickness_mm", "thinnest_mm", "edge_min_mm", "edge_max_mm", "volume_mm3", "weight_g")


@pytest.mark.parametrize("prism_pd", [0.0, 3.0])
@pytest.mark.parametrize("side", ["right", "left"])
def test_every_figure_of_every_lens_is_the_same_alone_and_in_a_batch(prism_pd: float, side: str) -> None:
    random = np.random.default_rng(11)
    shape = assumed_shape(52.0, 38.0, 55.0)
    shape = shape if shape.side == side else shape.mirrored()
    lenses = {
        "sphere": random.choice([-8.0, -3.25, 0.0, 2.0, 5.5], LENSES),
        "cylinder": random.choice([0.0, -1.25], LENSES),
        "axis_deg": random.uniform(1.0, 180.0, LENSES),
        "index": random.choice([1.5, 1.6, 1.67], LENSES),
        "front_curve_d": random.choice([2.0, 4.0, 6.0], LENSES),
        "prism_in": random.choice([0.0, prism_pd], LENSES),
    }
    where_in, where_up = random.uniform(0.0, 4.0, LENSES), random.uniform(-1.0, 4.0, LENSES)
    limits = {"density_g_cm3": 1.3, "min_centre_mm": 1.5, "min_edge_mm": 1.0, "prism_up": prism_pd / 3.0}
    together = lens_bodies(shape, reference_in_mm=where_in, reference_up_mm=where_up, **limits, **lenses)
    for lens in range(LENSES):
        one = {name: float(values[lens]) for name, values in lenses.items()}
        power = SphereCylinder(one.pop("sphere"), one.pop("cylinder"), one.pop("axis_deg"))
        place = float(where_in[lens]), float(where_up[lens])
        alone = lens_body(shape, power, reference_in_up_mm=place, **limits, **one)
        assert [getattr(alone, key) for key in KEYS] == [float(getattr(together, key)[lens]) for key in KEYS]
