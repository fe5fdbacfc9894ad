"""Draws a pair of spectacle lenses with eyes behind them; iris centres are known to a fraction of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFilter

FINE = 4  # drawn four times as large, then made smaller: edges as soft as a camera's


@dataclass(frozen=True)
class DrawnEye:
    """Centre in px of the finished picture; ``lid_mm``: how far the upper lid covers the iris from its top."""

    x_px: float
    y_px: float
    iris: tuple[int, int, int] = (90, 70, 50)
    pupil_mm: float = 3.5
    lid_mm: float = 1.5
    catch_light: tuple[float, float] = (-0.8, -1.0)


@dataclass(frozen=True)
class DrawnFace:
    px_per_mm: float
    right: DrawnEye
    left: DrawnEye
    skin: tuple[int, int, int] = (214, 172, 146)
    rim: tuple[int, int, int] = (40, 35, 35)
    noise_sd: float = 3.0
    blur_px: float = 1.0
    lens_mm: tuple[float, float] = (52.0, 36.0)

    def box(self, eye: DrawnEye) -> tuple[float, float, float, float]:
        """Left, top, right, bottom of the lens before the eye, which sits 2 mm above its middle and off the centre."""
        a, b = (side * self.px_per_mm for side in self.lens_mm)
        towards_nose = 3 * self.px_per_mm * (1 if eye is self.right else -1)
        x, y = eye.x_px - towards_nose, eye.y_px + 2 * self.px_per_mm
        return x - a / 2, y - b / 2, x + a / 2, y + b / 2

    def draw(self, rng: np.random.Generator) -> npt.NDArray[np.uint8]:
        width = int(150 * self.px_per_mm)
        height = int(80 * self.px_per_mm)
        picture = Image.new("RGB", (width * FINE, height * FINE), self.skin)
        pen = ImageDraw.Draw(picture)
        for eye in (self.right, self.left):
            self._draw_eye(pen, eye)
            box = [value * FINE for value in self.box(eye)]
            pen.rounded_rectangle(
                box, 12 * self.px_per_mm * FINE, outline=self.rim, width=int(2 * self.px_per_mm * FINE)
            )
        small = picture.resize((width, height), Image.Resampling.BOX).filter(ImageFilter.GaussianBlur(self.blur_px))
        noisy = np.asarray(small).astype(float) + self.noise_sd * rng.standard_normal((height, width, 1))
        return np.clip(noisy, 0, 255).astype(np.uint8)

    def _draw_eye(self, pen: ImageDraw.ImageDraw, eye: DrawnEye) -> None:
        scale = self.px_per_mm * FINE
        x, y = eye.x_px * FINE, eye.y_px * FINE

        def ellipse(dx: float, dy: float, half_width: float, half_height: float, colour: tuple[int, int, int]) -> None:
            cx, cy = x + dx * scale, y + dy * scale
            pen.ellipse(
                [cx - half_width * scale, cy - half_height * scale, cx + half_width * scale, cy + half_height * scale],
                fill=colour,
            )

        red, green, blue = self.skin
        ellipse(0, -13, 14, 2.2, (red // 2, green // 2, blue // 2))  # brow
        ellipse(0, 0.5, 14, 6.5, (232, 226, 222))
        ellipse(0, 0, 5.85, 5.85, eye.iris)
        ellipse(0, 0, eye.pupil_mm / 2, eye.pupil_mm / 2, (12, 10, 10))
        ellipse(*eye.catch_light, 0.7, 0.7, (250, 250, 250))
        lid_edge = y - (5.85 - eye.lid_mm) * scale
        shade = tuple(int(value * 0.85) for value in self.skin)
        pen.rectangle([x - 15 * scale, y - 9 * scale, x + 15 * scale, lid_edge], fill=shade)
        pen.rectangle([x - 13 * scale, lid_edge - 0.6 * scale, x + 13 * scale, lid_edge], fill=(60, 45, 40))


def random_face(rng: np.random.Generator) -> DrawnFace:
    """Sizes as a photo from 0.4 to 1 m has them; irises from light blue to dark brown; lids from wide to narrow."""
    px_per_mm = rng.uniform(3.0, 8.0)
    half_pd = rng.uniform(28, 35) * px_per_mm
    middle = np.array([75.0, 40.0]) * px_per_mm
    irises = [(90, 70, 50), (55, 40, 30), (110, 130, 150), (100, 110, 80)]
    iris = irises[rng.integers(len(irises))]

    def eye(side: int) -> DrawnEye:
        return DrawnEye(
            x_px=float(middle[0] + side * half_pd + rng.normal(0, 1)),
            y_px=float(middle[1] + rng.normal(0, 1)),
            iris=iris,
            pupil_mm=float(rng.uniform(2.5, 5)),
            lid_mm=float(rng.uniform(0.5, 3.0)),
            catch_light=(float(rng.uniform(-2, 2)), float(rng.uniform(-2, 1))),
        )

    return DrawnFace(
        px_per_mm=float(px_per_mm),
        right=eye(-1),
        left=eye(1),
        noise_sd=float(rng.uniform(1, 6)),
        blur_px=float(rng.uniform(0.5, 2.0)),
    )
