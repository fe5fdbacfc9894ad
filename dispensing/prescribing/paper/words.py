"""Words as a recogniser gives them, and what is read off them. Sizes in px of the page, from its top left corner."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

Box = tuple[float, float, float, float]
"""Left edge, top edge, width, height."""


@dataclass(frozen=True, slots=True)
class Word:
    """One word, or a run of words, found on a page. ``confidence``: 0 to 1, of the recogniser.

    ``place``: where it would be were the page flat, upright and square; None where the page is (``box`` then says so).
    ``crossed``: a stamp, a pen or the edge of the picture touches it, so that figures may be hidden or changed.
    """

    text: str
    box: Box
    confidence: float = 1.0
    page: int = 1
    place: Box | None = None
    crossed: bool = False

    @property
    def laid(self) -> Box:
        return self.place or self.box


@dataclass(frozen=True, slots=True)
class Read:
    """One field as read. ``value`` is None where the text cannot be read without guessing.

    ``unsure``: in words why a person has to look, though a value is given or the text was found; empty if nothing is
    against it.
    """

    value: Any
    text: str
    confidence: float
    box: Box
    page: int
    unsure: str = ""


def around(boxes: Iterable[Box]) -> Box:
    """The smallest box that holds them all."""
    every = list(boxes)
    left, top = min(box[0] for box in every), min(box[1] for box in every)
    right, bottom = max(box[0] + box[2] for box in every), max(box[1] + box[3] for box in every)
    return (left, top, right - left, bottom - top)


def part_of(box: Box, first: int, last: int, length: int) -> Box:
    """The part of a word's box that its letters ``first`` to ``last`` (not included) take up, as if all were alike."""
    left, top, width, height = box
    step = width / max(length, 1)
    return (left + first * step, top, (last - first) * step, height)
