"""What happens to paper on its way into a computer: scanners, phones, stamps and pens."""

from __future__ import annotations

import io
import math
import random

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFilter

KINDS = ("clean", "scan", "photo", "stamped")
STAMP_INKS = ((40, 60, 160), (150, 30, 50), (90, 50, 130), (25, 25, 30))
PEN_INKS = ((30, 30, 110), (20, 20, 24))


def damaged(image: Image.Image, kind: str, rng: random.Random) -> bytes:
    """The picture as a file: ``clean`` print, a crooked ``scan``, a ``photo``, or ``stamped`` and scribbled over."""
    if kind == "clean":
        return _file(image, "PNG")
    if kind == "stamped":
        image = _scribbled(_stamped(image, rng), rng)
    if kind in ("scan", "stamped"):
        return _file(_scanned(image, rng), "JPEG", rng.randrange(70, 90))
    return _file(_photographed(image, rng), "JPEG", rng.randrange(60, 85))


def _file(image: Image.Image, form: str, quality: int = 90) -> bytes:
    kept = io.BytesIO()
    image.save(kept, form, **({"quality": quality} if form == "JPEG" else {}))
    return kept.getvalue()


def _scanned(image: Image.Image, rng: random.Random) -> Image.Image:
    turned = image.rotate(rng.uniform(-3, 3), Image.Resampling.BICUBIC, fillcolor=(238, 238, 234), expand=True)
    soft = turned.filter(ImageFilter.GaussianBlur(rng.uniform(0.3, 0.9)))
    return _noisy(soft, rng, rng.uniform(3, 9))


def _photographed(image: Image.Image, rng: random.Random) -> Image.Image:
    page = np.asarray(image)
    high, wide = page.shape[:2]
    margin = 0.08 * max(wide, high)
    canvas = (int(wide + 2 * margin), int(high + 2 * margin))
    off = [[rng.uniform(-0.035, 0.035) * wide, rng.uniform(-0.035, 0.035) * high] for _ in range(4)]
    corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], np.float32)
    matrix = cv2.getPerspectiveTransform(corners, (corners + margin + np.array(off)).astype(np.float32))
    table = tuple(rng.randrange(60, 130) for _ in range(3))
    shot = cv2.warpPerspective(page, matrix, canvas, flags=cv2.INTER_AREA, borderValue=table)
    shot = (shot.astype(np.float32) * _shadow(canvas, rng)[:, :, None]).clip(0, 255).astype(np.uint8)
    soft = Image.fromarray(shot).filter(ImageFilter.GaussianBlur(rng.uniform(0.6, 1.3)))
    return _noisy(soft, rng, rng.uniform(4, 11))


def _shadow(size: tuple[int, int], rng: random.Random) -> np.ndarray[tuple[int, ...], np.dtype[np.float32]]:
    """Light that falls off to one side, and the edge of a hand's shadow."""
    wide, high = size
    angle = rng.uniform(0, 2 * math.pi)
    y, x = np.mgrid[0:high, 0:wide].astype(np.float32)
    across = (np.cos(angle) * (x / wide - 0.5) + np.sin(angle) * (y / high - 0.5)).astype(np.float32)
    edge = 1.0 / (1.0 + np.exp(-(across - rng.uniform(-0.3, 0.3)) * 18))
    light: np.ndarray[tuple[int, ...], np.dtype[np.float32]] = (
        0.78 + 0.3 * across - rng.uniform(0.1, 0.35) * edge
    ).astype(np.float32)
    return light


def _noisy(image: Image.Image, rng: random.Random, sd: float) -> Image.Image:
    noise = np.random.default_rng(rng.randrange(2**31)).normal(0, sd, (*image.size[::-1], 3))
    return Image.fromarray((np.asarray(image).astype(np.float32) + noise).clip(0, 255).astype(np.uint8))


def _stamped(image: Image.Image, rng: random.Random) -> Image.Image:
    """A round stamp in some ink, half over the figures."""
    layer = Image.new("RGBA", image.size)
    draw = ImageDraw.Draw(layer)
    x, y, r = rng.uniform(0.3, 0.8) * image.width, rng.uniform(0.2, 0.4) * image.height, 130
    ink = rng.choice(STAMP_INKS)
    for size in (r, r - 14):
        draw.ellipse((x - size, y - size, x + size, y + size), outline=(*ink, 150), width=5)
    draw.text((x - 90, y - 20), "INVENTED STAMP", fill=(*ink, 170), font_size=24)
    turned = layer.rotate(rng.uniform(-25, 25), center=(x, y))
    return Image.alpha_composite(image.convert("RGBA"), turned).convert("RGB")


def _scribbled(image: Image.Image, rng: random.Random) -> Image.Image:
    """A signature and a stroke of a pen."""
    draw = ImageDraw.Draw(image)
    x, y = rng.uniform(0.4, 0.7) * image.width, rng.uniform(0.35, 0.6) * image.height
    points = [(x + 14 * n, y + 34 * math.sin(n * rng.uniform(0.7, 1.3)) * rng.random()) for n in range(22)]
    draw.line(points, fill=rng.choice(PEN_INKS), width=4, joint="curve")
    return image
