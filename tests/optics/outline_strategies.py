"""Random lens shapes, and places on them, for property tests: from round to ragged, on both sides."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from dispensing.optics.boxing import LensShape
from dispensing.optics.conventions import EYES
from dispensing.optics.shape_families import FAMILIES, assumed_shape

sides = st.sampled_from(EYES)
places = st.tuples(st.floats(-8.0, 8.0), st.floats(-8.0, 8.0))


@st.composite
def wavy_shapes(draw: st.DrawFn, smallest_count: int = 36) -> LensShape:
    """A smooth outline of random waves, its origin wherever the waves leave it."""
    count = 2 * draw(st.integers(smallest_count // 2, 200))
    angles = np.arange(count) * (2.0 * np.pi / count)
    radii = np.full(count, draw(st.floats(18.0, 28.0)))
    for wave in (1, 2, 3, 4):
        depth, turn = draw(st.floats(0.0, 2.0 / wave)), draw(st.floats(0.0, 6.2))
        radii = radii + depth * np.cos(wave * angles + turn)
    return LensShape(radii, draw(sides))


@st.composite
def family_shapes(draw: st.DrawFn) -> LensShape:
    """A believable shape of any family, its ED left to the family."""
    a, b = draw(st.integers(42, 60)), draw(st.integers(26, 50))
    return assumed_shape(float(a), float(b), family=draw(st.sampled_from(FAMILIES)), side=draw(sides))


shapes = wavy_shapes() | family_shapes()
