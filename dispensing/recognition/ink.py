"""Ink that is not the print's: a stamp, a signature or a pen's stroke over the words of a page.

What it covers may be read smoothly and wrongly, so a word that it touches is said to be crossed. Found by its colour,
and where it is as black as the print by its shape: a stroke taller than a line of print that is no straight rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np

from dispensing.prescribing.paper.words import Box

Mask = np.ndarray[Any, np.dtype[np.uint8]]

LOOKED_AT_PX = 1280
"""Longer side of the copy on which ink is looked for."""
DARKER = 0.82
"""Of the paper around it: what is darker is ink."""
COLOURED = 15.0
"""Distance from the paper in Lab's a and b from which on ink has a colour."""
TALLER = 2.0
"""Times the height of the usual line of print: a stroke that tall is no letter."""
BESIDE = 0.6
"""Of a word's height: how far before and behind it ink counts, for it may hide a sign or figures."""
TOUCHES = 0.012
"""Share of a word's box that such ink must cover."""
AT_THE_EDGE = 0.2
"""Of a word's height: nearer to the picture's edge it counts as cut off."""
NEUTRAL = 0.25
"""Share of the ink in a word that must be grey for a colour to be another's: a word printed in blue is not crossed."""


def crossed(picture: np.ndarray[Any, Any], boxes: Sequence[Box], line_px: float) -> list[bool]:
    """Of each word's box, whether another's ink or the picture's edge touches it.

    On a page printed in grey a coloured word counts too: it was stamped or written by hand.
    """
    ink = ForeignInk(picture, line_px)
    in_colour = [ink.is_coloured(box) for box in boxes]
    is_rare = 2 * sum(in_colour) < len(boxes)
    high, wide = picture.shape[:2]
    return [
        ink.crosses(box) or (is_rare and coloured) or _is_cut_off(box, wide, high)
        for box, coloured in zip(boxes, in_colour)
    ]


def _is_cut_off(box: Box, wide: int, high: int) -> bool:
    """Whether a word reaches the edge of the picture, where the rest of it may be missing."""
    left, top, width, height = box
    room = AT_THE_EDGE * height
    return left < room or top < room or left + width > wide - room or top + height > high - room


class ForeignInk:
    """Where on a page there is ink of a stamp or a pen. ``line_px``: height of the usual line, in px of the page."""

    def __init__(self, picture: np.ndarray[Any, Any], line_px: float) -> None:
        self._ratio = min(1.0, LOOKED_AT_PX / max(picture.shape[:2]))
        small = cv2.resize(picture, None, fx=self._ratio, fy=self._ratio, interpolation=cv2.INTER_AREA)
        lab = cv2.cvtColor(cv2.blur(small, (3, 3)), cv2.COLOR_BGR2LAB).astype(np.int16)
        self._ink = _ink(np.asarray(cv2.cvtColor(small, cv2.COLOR_BGR2GRAY), np.uint8))
        self._coloured = _coloured(lab) & _grown(self._ink, 3)
        self._tall = _tall(self._ink, line_px * self._ratio)

    def crosses(self, box: Box) -> bool:
        """Whether it touches the word in this box, or what may stand right before or behind it."""
        left, top, wide, high = (side * self._ratio for side in box)
        rows = slice(max(int(top), 0), int(top + high) + 1)
        around = (rows, slice(max(int(left - BESIDE * high), 0), int(left + wide + BESIDE * high) + 1))
        least = TOUCHES * self._ink[around].size
        if np.count_nonzero(self._tall[around]) > least:
            return True
        return bool(np.count_nonzero(self._coloured[around]) > least) and not self.is_coloured(box)

    def is_coloured(self, box: Box) -> bool:
        """Whether the word is printed or written in colour, all of it."""
        left, top, wide, high = (int(side * self._ratio) for side in box)
        inside = (slice(max(top, 0), top + high + 1), slice(max(left, 0), left + wide + 1))
        ink, coloured = self._ink[inside], self._coloured[inside]
        return bool(np.count_nonzero(ink & ~coloured) <= NEUTRAL * np.count_nonzero(ink))


def _ink(grey: Mask) -> Mask:
    paper = cv2.blur(cv2.dilate(grey, np.ones((9, 9), np.uint8)), (31, 31))
    return np.asarray(np.where(grey < DARKER * paper, 255, 0), np.uint8)


def _coloured(lab: np.ndarray[Any, Any]) -> Mask:
    apart = [
        lab[:, :, place] - cv2.blur(np.ascontiguousarray(lab[:, :, place]), (61, 61)).astype(np.int16)
        for place in (1, 2)
    ]
    return np.asarray(np.where(np.hypot(*apart) > COLOURED, 255, 0), np.uint8)


def _tall(ink: Mask, line_px: float) -> Mask:
    """Ink in strokes that are taller than a line, straight rules left out."""
    length = max(int(TALLER * line_px), 12)
    plain = ink.copy()
    for along, across in (((1, length), (3, 1)), ((length, 1), (1, 3))):
        wide = cv2.dilate(ink, np.ones(across, np.uint8))
        rules = cv2.morphologyEx(wide, cv2.MORPH_OPEN, np.ones(along, np.uint8))
        plain &= ~_grown(np.asarray(rules, np.uint8), 3)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(plain, connectivity=8)
    is_tall = stats[:, cv2.CC_STAT_HEIGHT] > TALLER * line_px
    is_tall[0] = False
    return np.asarray(np.where(is_tall[labels], 255, 0), np.uint8) if count > 1 else np.zeros_like(ink)


def _grown(mask: Mask, by: int) -> Mask:
    return np.asarray(cv2.dilate(mask, np.ones((by, by), np.uint8)), np.uint8)
