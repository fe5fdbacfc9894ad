"""Photos drawn from a simulated scene: a face with frame and pupils exactly where the simulator says they are.

The metadata gives the camera's focal length, as a phone's does, along with a place that must not be kept.
"""

from __future__ import annotations

import io
import math
from typing import Any

import numpy as np
from PIL import ExifTags, Image, ImageDraw, ImageFilter

from tests.fitting.simulate import HEIGHT_PX, WIDTH_PX, Camera, Frame, Scene, Wearer

EQUIVALENT_MM = 28
FOCAL_PX = EQUIVALENT_MM * math.hypot(WIDTH_PX, HEIGHT_PX) / math.hypot(36, 24)
SKIN, RIM, HAIR = (214, 172, 146), (40, 36, 38), (70, 52, 44)
RIM_MM = 2.5


def usual_scene(**changes: Any) -> Scene:
    """Unequal eyes, so that an exchange of right and left would show; 700 mm away, looking into the camera."""
    usual: dict[str, Any] = {
        "wearer": Wearer(pd_right_mm=32.6, pd_left_mm=30.9, height_right_mm=22.4, height_left_mm=21.6, vertex_mm=13.2),
        "frame": Frame(a_mm=52.0, b_mm=38.0, dbl_mm=18.0, pantoscopic_deg=9.0),
        "camera": Camera(distance_mm=700.0, aside_mm=8.0, above_mm=-12.0, focal_px=FOCAL_PX),
    }
    return Scene(**(usual | changes))


def true_marks(scene: Scene) -> dict[str, Any]:
    """Where everything lies on the pictures, to a part of a pixel."""
    return scene.marked(np.random.default_rng(0))


def front_jpeg(scene: Scene, *, tells_focal: bool = True) -> bytes:
    marks = true_marks(scene)["front"]
    px_per_mm = scene.camera.focal_px / scene.camera.distance_mm
    picture = Image.new("RGB", (WIDTH_PX, HEIGHT_PX), (206, 212, 210))
    pen = ImageDraw.Draw(picture)
    middle = [(marks["right"]["nasal"][axis] + marks["left"]["nasal"][axis]) / 2 for axis in (0, 1)]
    _ellipse(pen, (middle[0], middle[1] - 20 * px_per_mm), 86 * px_per_mm, 120 * px_per_mm, HAIR)
    _ellipse(pen, (middle[0], middle[1] + 22 * px_per_mm), 74 * px_per_mm, 108 * px_per_mm, SKIN)
    for eye in ("right", "left"):
        _draw_eye(pen, marks[eye], px_per_mm)
    pen.line([tuple(marks["right"]["nasal"]), tuple(marks["left"]["nasal"])], RIM, round(3 * px_per_mm))
    soft = picture.filter(ImageFilter.GaussianBlur(0.8))
    return _jpeg(soft, tells_focal)


def _draw_eye(pen: ImageDraw.ImageDraw, marks: dict[str, list[float]], px_per_mm: float) -> None:
    pupil = marks["pupil"]
    _ellipse(pen, (pupil[0], pupil[1] + 0.5 * px_per_mm), 14 * px_per_mm, 6.5 * px_per_mm, (232, 226, 222))
    _ellipse(pen, pupil, 5.85 * px_per_mm, 5.85 * px_per_mm, (96, 74, 52))
    _ellipse(pen, pupil, 1.8 * px_per_mm, 1.8 * px_per_mm, (12, 10, 10))
    across = sorted((marks["nasal"][0], marks["temporal"][0]))
    box = [across[0], marks["top"][1], across[1], marks["bottom"][1]]
    rim = RIM_MM * px_per_mm
    # The inner edge of the rim is the edge of the lens, and so of the box.
    outer = [box[0] - rim, box[1] - rim, box[2] + rim, box[3] + rim]
    pen.rounded_rectangle(outer, 13 * px_per_mm, outline=RIM, width=round(rim))


def side_jpeg(scene: Scene) -> bytes:
    """From the side, 10 px a mm, facing right: rim, eye, a rule beside it and a worktop's edge that is level."""
    marks = true_marks(scene)["side"]
    picture = Image.new("RGB", (marks["width_px"], marks["height_px"]), (206, 212, 210))
    pen = ImageDraw.Draw(picture)
    cornea = marks["cornea"]
    _ellipse(pen, (cornea[0] - 900, cornea[1] + 60), 880, 1300, SKIN)
    _ellipse(pen, (cornea[0] - 120, cornea[1]), 120, 120, (236, 232, 228))
    pen.line([tuple(marks["rim_top"]), tuple(marks["rim_bottom"])], RIM, 14)
    pen.line([tuple(marks["rim_top"]), (marks["rim_top"][0] - 1000, marks["rim_top"][1] + 60)], RIM, 40)
    pen.line([tuple(end) for end in marks["level"]], (90, 60, 30), 8)
    pen.line([tuple(end) for end in marks["scale"]["ends"]], (20, 60, 120), 10)
    return _jpeg(picture.filter(ImageFilter.GaussianBlur(0.8)), tells_focal=False)


def _ellipse(pen: ImageDraw.ImageDraw, centre: Any, across: float, down: float, colour: tuple[int, int, int]) -> None:
    x, y = centre
    pen.ellipse([x - across, y - down, x + across, y + down], fill=colour)


def _jpeg(picture: Image.Image, tells_focal: bool) -> bytes:
    exif = Image.Exif()
    exif[ExifTags.Base.Model] = "Secret pocket camera"
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitudeRef] = "N"
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] = (51.0, 30.0, 26.0)
    if tells_focal:
        exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.FocalLengthIn35mmFilm] = EQUIVALENT_MM
    written = io.BytesIO()
    picture.save(written, "JPEG", quality=92, exif=exif)
    return written.getvalue()
