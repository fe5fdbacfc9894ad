"""Whole faces behind spectacles, painted: pupils and lens edges are known to a fraction of a pixel.

No face of anybody is used. Skin, iris, tint, reflections and light are chosen; shapes vary with the seed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

Colour = tuple[int, int, int]
Picture = npt.NDArray[np.uint8]
Random = np.random.Generator

SKINS: dict[str, Colour] = {
    "light": (232, 196, 172),
    "medium": (190, 140, 108),
    "brown": (130, 88, 64),
    "dark": (78, 52, 40),
}
IRISES: dict[str, Colour] = {
    "blue": (110, 135, 160),
    "green": (98, 112, 80),
    "brown": (88, 60, 40),
    "dark": (48, 34, 28),
}
SHIFT = 4


@dataclass(frozen=True)
class PaintedFace:
    """A face as photographed; mm are turned into pixels by ``px_per_mm``, about the middle of the bridge.

    ``tint``: share of the light that the lenses take. ``glare``: share of each lens under a bright reflection.
    ``side_light``: how much darker the darker half of the face is. ``pupil_in_mm``: how far the middle of the pupil
    lies nasally of that of the iris.
    """

    skin: Colour = SKINS["medium"]
    iris: Colour = IRISES["brown"]
    tint: float = 0.0
    glare: float = 0.0
    side_light: float = 0.0
    size: tuple[int, int] = (1600, 1200)
    px_per_mm: float = 3.6
    middle: tuple[float, float] = (800.0, 560.0)
    pd_mm: tuple[float, float] = (32.0, 31.0)
    a_mm: float = 52.0
    b_mm: float = 38.0
    dbl_mm: float = 18.0
    rim_mm: float = 2.0
    rim: Colour = (44, 38, 40)
    corner: float = 2.6
    height_mm: float = 3.0
    pupil_mm: float = 4.0
    pupil_in_mm: float = 0.25
    lid_mm: float = 1.8
    roll_deg: float = 0.0
    noise_sd: float = 3.0
    blur_px: float = 0.9
    eyes_closed: bool = False
    glasses: bool = True

    def at(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """A place of the face in px; x towards the wearer's left, y down, from the middle of the bridge."""
        roll = np.radians(self.roll_deg)
        x = x_mm * np.cos(roll) - y_mm * np.sin(roll)
        y = x_mm * np.sin(roll) + y_mm * np.cos(roll)
        return self.middle[0] + x * self.px_per_mm, self.middle[1] + y * self.px_per_mm

    def truth(self) -> dict[str, dict[str, tuple[float, float]]]:
        """Pupils and the middles of the four sides of each box, as ``fitting-points/1`` names them."""
        found = {}
        for eye, side, pd in (("right", -1, self.pd_mm[0]), ("left", 1, self.pd_mm[1])):
            middle = side * (self.dbl_mm + self.a_mm) / 2
            found[eye] = {
                "pupil": self.at(side * (pd - self.pupil_in_mm), -self.height_mm),
                "nasal": self.at(side * self.dbl_mm / 2, 0),
                "temporal": self.at(side * (self.dbl_mm / 2 + self.a_mm), 0),
                "top": self.at(middle, -self.b_mm / 2),
                "bottom": self.at(middle, self.b_mm / 2),
            }
        return found

    def paint(self, rng: Random) -> Picture:
        """RGB, rows × columns."""
        canvas = _Canvas(self)
        canvas.head()
        for side, pd in ((-1, self.pd_mm[0]), (1, self.pd_mm[1])):
            canvas.eye(side, side * pd)
        if self.glasses:
            for side in (-1, 1):
                canvas.lens(side)
            canvas.bridge()
        return canvas.photographed(rng)


class _Canvas:
    def __init__(self, face: PaintedFace) -> None:
        self.face = face
        width, height = face.size
        self.picture: Any = np.empty((height, width, 3), np.uint8)
        self.picture[:] = np.linspace(205, 170, height).astype(np.uint8)[:, None, None]

    def shade(self, factor: float, warm: float = 0.0) -> Colour:
        r, g, b = self.face.skin
        return min(255, int(r * factor + warm)), min(255, int(g * factor)), min(255, int(b * factor))

    def oval(self, x: float, y: float, half: tuple[float, float], colour: Colour, turn: float = 0.0) -> None:
        angles = np.linspace(0, 2 * np.pi, 90)
        dx, dy = half[0] * np.cos(angles), half[1] * np.sin(angles)
        t = np.radians(turn)
        self.area(np.column_stack([x + dx * np.cos(t) - dy * np.sin(t), y + dx * np.sin(t) + dy * np.cos(t)]), colour)

    def area(self, outline_mm: Any, colour: Colour) -> None:
        points = np.array([self.face.at(x, y) for x, y in outline_mm])
        # A pixel of the array is centred half a pixel from the corner that marks are counted from.
        cv2.fillPoly(self.picture, [np.rint((points - 0.5) * 2**SHIFT).astype(np.int32)], colour, cv2.LINE_AA, SHIFT)

    def line(self, points_mm: Any, colour: Colour, width_mm: float, closed: bool = False) -> None:
        points = np.array([self.face.at(x, y) for x, y in points_mm])
        width = max(1, round(width_mm * self.face.px_per_mm))
        cv2.polylines(
            self.picture,
            [np.rint((points - 0.5) * 2**SHIFT).astype(np.int32)],
            closed,
            colour,
            width,
            cv2.LINE_AA,
            SHIFT,
        )

    def head(self) -> None:
        hair: Colour = (58, 44, 36)
        self.oval(0, 190, (170, 90), (70, 84, 110))
        self.area([(-45, 80), (45, 80), (55, 150), (-55, 150)], self.shade(0.78))
        self.oval(0, -30, (88, 112), hair)
        for side in (-1, 1):
            self.oval(side * 76, 18, (9, 26), self.shade(0.85))
        self.oval(0, 22, (74, 108), self.shade(1.0))
        self.oval(0, -88, (66, 26), hair)
        for side in (-1, 1):
            self.oval(side * 40, 42, (22, 18), self.shade(0.97, 6))
            self.oval(side * 32, -2, (20, 12), self.shade(0.93))
            self.oval(side * 33, -20, (17, 3.0), hair, side * 4)
            self.oval(side * 7, 40, (4, 2.4), self.shade(0.5))
            self.area(
                [(side * 3, -6), (side * 6, -4), (side * 13, 38), (side * 9, 42), (side * 5, 30)], self.shade(0.88)
            )
        self.oval(0, 34, (7, 6), self.shade(1.05))
        self.oval(0, 70, (24, 7.5), self.shade(0.72, 32))
        self.line([(-24, 70), (-8, 69), (0, 70.5), (8, 69), (24, 70)], self.shade(0.42, 10), 1.4)
        self.picture = cv2.GaussianBlur(self.picture, (0, 0), 1.6 * self.face.px_per_mm)

    def eye(self, side: int, x: float) -> None:
        face, y = self.face, -self.face.height_mm
        along = np.linspace(-1, 1, 41)
        upper = np.column_stack([x + 15 * along, y + 1.0 - (7.4 - face.lid_mm) * (1 - along**2)])
        lower = np.column_stack([x + 15 * along[::-1], y + 1.0 + 4.9 * (1 - along[::-1] ** 2)])
        opening = np.vstack([upper, lower])
        if face.eyes_closed:
            self.line(lower, self.shade(0.4), 1.2)
            return
        before = self.picture.copy()
        self.area(opening, (228, 222, 216))
        self.oval(x, y, (5.9, 5.9), tuple(int(0.6 * part) for part in face.iris))  # type: ignore[arg-type]  # three parts
        self.oval(x, y, (5.3, 5.3), face.iris)
        self.oval(x - side * face.pupil_in_mm, y, (face.pupil_mm / 2, face.pupil_mm / 2), (10, 9, 9))
        self.oval(x - 1.3, y - 1.4, (0.7, 0.7), (250, 250, 250))
        mask = np.zeros(self.picture.shape[:2], np.uint8)
        points = np.array([face.at(*point) for point in opening])
        cv2.fillPoly(mask, [np.rint((points - 0.5) * 2**SHIFT).astype(np.int32)], 255, cv2.LINE_AA, SHIFT)
        part = (mask / 255.0)[..., None]
        self.picture = (part * self.picture + (1 - part) * before).astype(np.uint8)
        self.line(upper, self.shade(0.3), 1.3)
        self.line(lower, self.shade(0.62, 8), 0.6)
        self.line(upper - [0, 3.2], self.shade(0.7), 0.8)

    def outline(self, side: int, beyond_mm: float = 0.0) -> Any:
        """A rounded shape that touches its box in the middle of each side."""
        face = self.face
        angles = np.linspace(0, 2 * np.pi, 241)[:-1]
        half_a, half_b = face.a_mm / 2 + beyond_mm, face.b_mm / 2 + beyond_mm
        power = 2 / face.corner
        x = half_a * np.sign(np.cos(angles)) * np.abs(np.cos(angles)) ** power
        y = half_b * np.sign(np.sin(angles)) * np.abs(np.sin(angles)) ** power
        return np.column_stack([side * (face.dbl_mm + face.a_mm) / 2 + x, y])

    def lens(self, side: int) -> None:
        face = self.face
        mask = np.zeros(self.picture.shape[:2], np.uint8)
        points = np.array([face.at(*point) for point in self.outline(side)])
        cv2.fillPoly(mask, [np.rint((points - 0.5) * 2**SHIFT).astype(np.int32)], 255, cv2.LINE_AA, SHIFT)
        part = (mask / 255.0)[..., None]
        behind = self.picture.astype(float) * (1 - face.tint * np.array([1.0, 0.97, 0.92]))
        if face.glare:
            behind = self._with_glare(behind, side)
        seen = part * behind + (1 - part) * self.picture
        rim = mask.copy()
        outer = np.zeros_like(mask)
        points = np.array([face.at(*point) for point in self.outline(side, face.rim_mm)])
        cv2.fillPoly(outer, [np.rint((points - 0.5) * 2**SHIFT).astype(np.int32)], 255, cv2.LINE_AA, SHIFT)
        around = np.clip(outer.astype(float) - rim, 0, 255)[..., None] / 255
        self.picture = (around * np.array(face.rim) + (1 - around) * seen).astype(np.uint8)
        temple = side * (face.dbl_mm / 2 + face.a_mm)
        self.line([(temple + side * 2, -12), (side * 74, -10)], face.rim, 3)

    def _with_glare(self, behind: Any, side: int) -> Any:
        face = self.face
        x, y = face.at(side * 30 + 6, -6)
        rows, columns = np.indices(behind.shape[:2])
        half = face.px_per_mm * face.a_mm * np.sqrt(face.glare) / 2
        inside = (np.abs(columns - x) < half) & (np.abs(rows - y) < 0.8 * half)
        behind[inside] = 0.25 * behind[inside] + 0.75 * 250
        return behind

    def bridge(self) -> None:
        face = self.face
        arc = np.linspace(-1, 1, 21)
        half = face.dbl_mm / 2 - face.rim_mm / 2
        self.line(np.column_stack([half * arc, -6 - 3 * (1 - arc**2)]), face.rim, 2.4)

    def photographed(self, rng: Random) -> Picture:
        face = self.face
        light = self.picture.astype(float)
        across = np.linspace(0, 1, face.size[0])[None, :, None]
        light *= 1 - face.side_light * across
        soft = cv2.GaussianBlur(light, (0, 0), face.blur_px)
        noisy = soft + face.noise_sd * rng.standard_normal((*soft.shape[:2], 1))
        taken: Picture = np.clip(noisy, 0, 255).astype(np.uint8)
        return taken


def varied(rng: Random, **chosen: Any) -> PaintedFace:
    """Another face in another frame, at another distance, with what is ``chosen`` of it."""
    px_per_mm = float(rng.uniform(3.0, 4.4))
    shape = {
        "px_per_mm": px_per_mm,
        "middle": (float(800 + rng.normal(0, 60)), float(560 + rng.normal(0, 40))),
        "pd_mm": (float(rng.normal(31.5, 1.4)), float(rng.normal(31.5, 1.4))),
        "a_mm": float(rng.uniform(48, 56)),
        "b_mm": float(rng.uniform(32, 42)),
        "dbl_mm": float(rng.uniform(16, 21)),
        "rim_mm": float(rng.uniform(0.9, 3.0)),
        "rim": tuple(int(part) for part in rng.choice([[44, 38, 40], [30, 30, 60], [120, 90, 60], [150, 150, 155]])),
        "corner": float(rng.uniform(2.2, 3.6)),
        "height_mm": float(rng.uniform(1, 5)),
        "pupil_mm": float(rng.uniform(2.6, 5.0)),
        "lid_mm": float(rng.uniform(1.0, 3.0)),
        "roll_deg": float(rng.uniform(-4, 4)),
        "noise_sd": float(rng.uniform(1, 5)),
        "blur_px": float(rng.uniform(0.6, 1.4)),
    }
    return PaintedFace(**{**shape, **chosen})
