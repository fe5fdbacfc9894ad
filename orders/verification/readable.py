"""Numbers that a lens or an instrument could have; anything far beyond them counts as not read. Pure arithmetic."""

from __future__ import annotations

BEYOND_ANY_FIGURE = 10_000.0
"""Larger than any power, prism, length or angle; sums of such figures stay finite."""


def readable(value: float | None) -> float | None:
    """The value, or None if it is absent or beyond any figure."""
    return None if value is None or abs(value) > BEYOND_ANY_FIGURE else value
