"""A card of the format ID-1 held before a painted face: where its corners lie is known to a fraction of a pixel."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

Random = np.random.Generator
LONG_MM, SHORT_MM, ROUND_MM = 85.60, 53.98, 3.18
COLOURS = ((238, 238, 236), (28, 44, 96), (196, 168, 92), (40, 40, 44), (150, 190, 210), (176, 60, 58), (120, 150, 120))


@dataclass(frozen=True)
class PaintedCard:
    """Its middle in mm of the face, its lean in the picture, and how far it is turned and tipped out of its plane."""

    x_mm: float
    y_mm: float
    lean_deg: float = 0.0
    turned_deg: float = 0.0
    tipped_deg: float = 0.0
    colour: tuple[int, int, int] = COLOURS[0]
    fingers: int = 2

    def at(self, along: float, down: float) -> tuple[float, float]:
        """A place of the card (mm from its middle) in mm of the face; a camera half a metre away."""
        turned, tipped, lean = np.radians([self.turned_deg, self.tipped_deg, self.lean_deg])
        away = along * np.sin(turned) + down * np.sin(tipped)
        nearer = 500 / (500 + away)
        x, y = along * np.cos(turned) * nearer, down * np.cos(tipped) * nearer
        return (
            self.x_mm + x * np.cos(lean) - y * np.sin(lean),
            self.y_mm + x * np.sin(lean) + y * np.cos(lean),
        )

    def corners(self) -> list[tuple[float, float]]:
        """Clockwise from the left upper one, where its straight sides would meet; mm of the face."""
        half = LONG_MM / 2, SHORT_MM / 2
        return [self.at(along * half[0], down * half[1]) for along, down in ((-1, -1), (1, -1), (1, 1), (-1, 1))]

    def paint(self, canvas: Any, rng: Random) -> None:
        """With some print on it, and fingers over its edges."""
        inside = canvas.covered(self._outline())
        canvas.picture = (inside * np.array(self.colour, np.float32) + (1 - inside) * canvas.picture).astype(np.uint8)
        light = sum(self.colour) > 380
        ink = tuple(int(part * 0.4) if light else min(255, part + 120) for part in self.colour)
        for row in range(3):
            y = 6 + 6 * row
            ends = rng.uniform(-36, -30), rng.uniform(0, 30)
            canvas.area(
                [self.at(*p) for p in ((ends[0], y), (ends[1], y), (ends[1], y + 2.2), (ends[0], y + 2.2))], ink
            )
        chip = [self.at(along, down) for along, down in ((-32, -8), (-20, -8), (-20, 1), (-32, 1))]
        canvas.area(chip, (206, 186, 120))
        for side in (-1, 1)[: self.fingers]:
            held = self.at(side * 41, rng.uniform(-8, 12))
            canvas.oval(held[0] + side * 8, held[1], (17, 8), canvas.shade(1.02), rng.uniform(-25, 25))
        if self.fingers > 2:
            held = self.at(rng.uniform(-25, 25), 27)
            canvas.oval(held[0], held[1] + 9, (8, 15), canvas.shade(0.95), rng.uniform(-20, 20))

    def _outline(self) -> Any:
        bow = np.linspace(0, np.pi / 2, 13)
        places = []
        for quarter, (along, down) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
            middle = along * (LONG_MM / 2 - ROUND_MM), down * (SHORT_MM / 2 - ROUND_MM)
            turn = bow + quarter * np.pi / 2
            places += [(middle[0] + ROUND_MM * np.cos(t), middle[1] + ROUND_MM * np.sin(t)) for t in turn]
        ends = np.array([*places, places[0]])
        # Places all along the sides too, so that which way is out is told rightly at each.
        thick = [np.linspace(one, other, 8, endpoint=False) for one, other in pairwise(ends)]
        return np.array([self.at(*place) for place in np.vstack(thick)])


def varied_card(rng: Random, **chosen: Any) -> PaintedCard:
    """On the forehead or before the mouth, held by hand."""
    y = rng.uniform(-80, -62) if rng.random() < 0.6 else rng.uniform(62, 85)
    usual = {
        "x_mm": float(rng.normal(0, 8)),
        "y_mm": float(y),
        "lean_deg": float(rng.normal(0, 4)),
        "turned_deg": float(rng.normal(0, 4)),
        "tipped_deg": float(rng.normal(0, 5)),
        "colour": COLOURS[int(rng.integers(len(COLOURS)))],
        "fingers": int(rng.integers(0, 4)),
    }
    return PaintedCard(**{**usual, **chosen})
