"""Whole faces behind spectacles, painted: pupils and lens edges are known to a fraction of a pixel.

No face of anybody is used. Skin, iris, tint, reflections and light are chosen; shapes vary with the seed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from tests.fitting.painted_card import PaintedCard

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
RIMS: dict[str, Colour] = {
    "black": (34, 30, 32),
    "brown": (84, 56, 40),
    "blue": (36, 44, 92),
    "red": (136, 34, 40),
    "metal": (150, 150, 155),
    "gold": (176, 146, 96),
    "white": (226, 224, 220),
}
MOUNTS = ("full", "semi", "rimless")
SHIFT = 4
FILLED_BEYOND_PX = 0.64


@dataclass(frozen=True)
class PaintedFace:
    """A face as photographed; mm are turned into pixels by ``px_per_mm``, about the middle of the bridge.

    ``tint``: share of the light that the lenses take. ``glare``: share of each lens under a bright reflection.
    ``side_light``: how much darker the darker half of the face is. ``pupil_in_mm``: how far the middle of the pupil
    lies nasally of that of the iris. ``mount``: a rim all round, above only, or none. ``taper``: how much narrower the
    shape is below than above; ``lean``: how far its lower half lies towards the nose, both in parts of its half width.
    ``top_rim``: how much thicker the rim is above. ``sheen``: how bright a streak of light lies on the rim.
    ``shadow``: how much light the frame's shadow takes off the face. ``clear``: how much shines through the rim.
    ``hair_mm``: how far hair hangs over the right lens from its temporal side.
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
    mount: str = "full"
    taper: float = 0.0
    lean: float = 0.0
    top_rim: float = 1.0
    sheen: float = 0.0
    shadow: float = 0.0
    clear: float = 0.0
    hair_mm: float | None = None
    card: PaintedCard | None = None

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
        if self.hair_mm is not None:
            canvas.hair_over(self.hair_mm)
        if self.card:
            self.card.paint(canvas, rng)
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

    def hair_over(self, mm: float) -> None:
        x = -self.face.dbl_mm / 2 - self.face.a_mm + mm
        self.area([(-92, -95), (x - 4, -95), (x, -20), (x + 1, 30), (x - 3, 60), (-92, 70)], (58, 44, 36))

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
        """A rounded shape that touches all sides of its box; ``beyond_mm`` outside it, more above as the rim is."""
        face = self.face
        angles = np.linspace(0, 2 * np.pi, 481)[:-1]
        power = 2 / face.corner
        x = np.sign(np.cos(angles)) * np.abs(np.cos(angles)) ** power
        y = np.sign(np.sin(angles)) * np.abs(np.sin(angles)) ** power
        x = x * (1 - face.taper * (1 + y) / 2) - side * face.lean * y
        x, y = (face.a_mm / 2 * _into_box(x), face.b_mm / 2 * _into_box(y))
        around = _outwards(x, y)
        thick = beyond_mm * (1 + (face.top_rim - 1) * np.clip(-around[:, 1], 0, 1))
        x, y = x + thick * around[:, 0], y + thick * around[:, 1]
        return np.column_stack([side * (face.dbl_mm + face.a_mm) / 2 + x, y])

    def covered(self, outline_mm: Any) -> Any:
        """How much of each pixel lies within an outline, rows × columns × 1."""
        mask = np.zeros(self.picture.shape[:2], np.uint8)
        # OpenCV fills two thirds of a pixel beyond a smooth outline.
        inside = outline_mm - FILLED_BEYOND_PX / self.face.px_per_mm * _outwards(*outline_mm.T)
        points = np.array([self.face.at(x, y) for x, y in inside])
        cv2.fillPoly(mask, [np.rint((points - 0.5) * 2**SHIFT).astype(np.int32)], 255, cv2.LINE_AA, SHIFT)
        return (mask / np.float32(255))[..., None]

    def lens(self, side: int) -> None:
        face = self.face
        part, rim = self.covered(self.outline(side)), self._rim(side)
        if face.shadow:
            thrown = cv2.GaussianBlur(np.roll(rim[..., 0], _px(face, 2.5), 0), (0, 0), _px(face, 1.2))[..., None]
            self.picture = self.picture * (1 - face.shadow * thrown)
        behind = self.picture * (1 - face.tint * np.array([1.0, 0.97, 0.92], np.float32))
        if face.glare:
            behind = self._with_glare(behind, side)
        seen = part * behind + (1 - part) * self.picture
        solid = (1 - face.clear) * np.array(face.rim, np.float32) + face.clear * seen
        self.picture = (rim * solid + (1 - rim) * seen).astype(np.uint8)
        if face.sheen and face.mount != "rimless":
            within, up_to = (self.covered(self.outline(side, part * face.rim_mm)) for part in (0.45, 0.7))
            streak = face.sheen * (up_to - within) * self._above(side)
            self.picture = (self.picture + streak * (250 - self.picture) * 0.6).astype(np.uint8)
        temple = side * (face.dbl_mm / 2 + face.a_mm)
        self.line([(temple + side * 2, -12), (side * 74, -10)], face.rim, 3)

    def _rim(self, side: int) -> Any:
        """Where the rim covers what lies behind; of a lens without one its ground edge, a thin line within it."""
        face = self.face
        ground = 0.45 * (self.covered(self.outline(side)) - self.covered(self.outline(side, -0.5)))
        if face.mount == "rimless":
            return np.clip(ground, 0, 1)
        rim = self.covered(self.outline(side, face.rim_mm)) - self.covered(self.outline(side))
        if face.mount == "semi":
            above = self._above(side)
            rim = above * rim + (1 - above) * ground
        return np.clip(rim, 0, 1)

    def _above(self, side: int) -> Any:
        """1 in the upper half of a lens, 0 below; rows × 1 × 1."""
        level = self.face.at(side * 35, 0.1 * self.face.b_mm)[1]
        rows = np.arange(self.picture.shape[0], dtype=np.float32)
        return np.clip((level - rows) / 4 + 0.5, 0, 1)[:, None, None]

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
        half = face.dbl_mm / 2 - (face.rim_mm / 2 if face.mount != "rimless" else -0.5)
        self.line(np.column_stack([half * arc, -6 - 3 * (1 - arc**2)]), face.rim, 2.4)

    def photographed(self, rng: Random) -> Picture:
        face = self.face
        light = self.picture.astype(np.float32)
        across = np.linspace(0, 1, face.size[0], dtype=np.float32)[None, :, None]
        light *= 1 - face.side_light * across
        soft = cv2.GaussianBlur(light, (0, 0), face.blur_px)
        noisy = soft + face.noise_sd * rng.standard_normal((*soft.shape[:2], 1), np.float32)
        taken: Picture = np.clip(noisy, 0, 255).astype(np.uint8)
        return taken


def _into_box(values: Any) -> Any:
    """The same run of places, moved and stretched to end at -1 and 1."""
    low, high = values.min(), values.max()
    return (2 * values - low - high) / (high - low)


def _outwards(x: Any, y: Any) -> Any:
    """Which way is out at each place of a closed outline, of length 1."""
    ends = np.column_stack([np.roll(y, -1) - np.roll(y, 1), np.roll(x, 1) - np.roll(x, -1)])
    return ends / np.hypot(*ends.T)[:, np.newaxis]


def _px(face: PaintedFace, mm: float) -> int:
    return max(1, round(mm * face.px_per_mm))


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
        "rim": RIMS[str(rng.choice(list(RIMS)))],
        "corner": float(rng.uniform(2.2, 3.6)),
        "height_mm": float(rng.uniform(1, 5)),
        "pupil_mm": float(rng.uniform(2.6, 5.0)),
        "lid_mm": float(rng.uniform(1.0, 3.0)),
        "roll_deg": float(rng.uniform(-4, 4)),
        "noise_sd": float(rng.uniform(1, 5)),
        "blur_px": float(rng.uniform(0.6, 1.4)),
        "mount": str(rng.choice(MOUNTS, p=(0.7, 0.15, 0.15))),
        "taper": float(rng.uniform(0.0, 0.25)),
        "lean": float(rng.uniform(-0.05, 0.15)),
        "top_rim": float(rng.uniform(1.0, 1.6)),
        "sheen": float(rng.uniform(0.0, 1.0)),
        "shadow": float(rng.uniform(0.0, 0.3)),
        "clear": float(rng.choice([0.0, 0.0, 0.0, 0.4])),
    }
    return PaintedFace(**{**shape, **chosen})
