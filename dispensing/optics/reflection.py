"""How much light an uncoated lens reflects: Fresnel's formula for light that meets a surface squarely.

This module must never know a coating.
"""

from __future__ import annotations

from dispensing.optics.errors import require_range
from dispensing.optics.surface import HIGHEST_INDEX, LOWEST_INDEX


def surface_reflection(index: float) -> float:
    """The share of light that one uncoated surface reflects, 0 to 1: ((n − 1)/(n + 1))²."""
    n = require_range("refractive index", index, "", LOWEST_INDEX, HIGHEST_INDEX)
    return ((n - 1.0) / (n + 1.0)) ** 2


def lens_reflection(index: float) -> float:
    """The share that an uncoated lens reflects by both surfaces, and back and forth between them: 2R/(1 + R)."""
    once = surface_reflection(index)
    return 2.0 * once / (1.0 + once)
