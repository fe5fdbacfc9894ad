"""Which powers may be compared: far with far, near with near. The words are those of ``prescription.use``."""

from __future__ import annotations

_COMPARABLE = {
    "distance": ("distance", "distance_and_near"),
    "distance_and_near": ("distance", "distance_and_near"),
    "intermediate": ("intermediate",),
    "near": ("near",),
}


def comparable_uses(use: str) -> tuple[str, ...]:
    """The uses whose powers are for the same distance as those for ``use``, itself included."""
    return _COMPARABLE.get(use, (use,))
