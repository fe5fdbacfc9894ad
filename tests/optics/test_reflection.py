"""Reflection of uncoated lenses, by Fresnel's formula."""

from __future__ import annotations

import pytest

from dispensing.optics.errors import OpticsError
from dispensing.optics.reflection import lens_reflection, surface_reflection


@pytest.mark.parametrize(("index", "share"), [(1.5, 0.04), (1.6, 0.0533), (1.67, 0.0630), (1.74, 0.0729)])
def test_one_surface_reflects_as_the_textbooks_say(index: float, share: float) -> None:
    """((n − 1)/(n + 1))²: 4 % at 1.5, worked out by hand for the others."""
    assert surface_reflection(index) == pytest.approx(share, abs=5e-5)


@pytest.mark.parametrize("index", [1.5, 1.6, 1.74])
def test_a_lens_reflects_what_its_surfaces_throw_back_and_forth_between_them(index: float) -> None:
    """Summed pass by pass: R + (1 − R)² R (1 + R² + R⁴ + …)."""
    once = surface_reflection(index)
    summed = once + (1.0 - once) ** 2 * once * sum(once ** (2 * times) for times in range(50))
    assert lens_reflection(index) == pytest.approx(summed, rel=1e-12)


def test_an_index_that_no_lens_has_is_refused() -> None:
    with pytest.raises(OpticsError):
        surface_reflection(0.9)
