"""A frame from the front, to scale: both lens shapes, their boxed sizes, and where the eyes sit behind them.

Seen facing the wearer: the wearer's right lens is on the left. All in mm. It draws what it is given and must never
judge it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from dispensing.optics.boxing import LensShape
from dispensing.optics.conventions import Eye
from dispensing.pictures.picture import Picture
from dispensing.trade import figure

ASSUMED_DBL_MM = figure("drawn-frame", "dbl_mm")
"""How far apart the lenses are drawn if the distance between them is not known; no figure is then written."""
PUPIL_RADIUS_MM = 2.0
CROSS_ARM_MM = 3.0
SCALE_BAR_MM = 50
FARTHEST_MM = 70.0
"""A PD or height larger than this is a typing slip and would only shrink the picture."""


@dataclass(frozen=True)
class Placed:
    """Where one eye sits: monocular PD from the middle of the bridge, height above the lowest point of the lens."""

    pd_mm: float | None = None
    height_mm: float | None = None


NOWHERE = Placed()


@dataclass(frozen=True)
class _Lens:
    """One lens in the picture: its shape and the x of its boxed centre."""

    shape: LensShape
    centre_x: float

    @property
    def outward(self) -> float:
        """−1 where the temple is on the viewer's left (right lens)."""
        return -self.shape.in_sign

    @property
    def box(self) -> tuple[float, float, float, float]:
        left, right, bottom, top = self.shape.box
        return self.centre_x + left, self.centre_x + right, bottom, top


def frame_drawing(
    shape: LensShape,
    dbl_mm: float | None,
    *,
    placed: Mapping[Eye, Placed] | None = None,
    sizes: tuple[float | None, float | None, float | None] | None = None,
    assumed: bool = False,
    headings: tuple[str, str] = ("R", "L"),
    scale: float = 1.0,
) -> str:
    """SVG text of both lenses. ``shape``: the right lens; ``sizes``: A, B, ED as recorded, or else from the shape.

    ``assumed``: the shape was built from A, B and ED, and the picture says so.
    """
    apart = ASSUMED_DBL_MM if dbl_mm is None else dbl_mm
    middle = (shape.a_mm + apart) / 2.0
    lenses = (_Lens(shape, -middle), _Lens(shape.mirrored(), middle))
    picture = Picture()
    for lens in lenses:
        _draw_lens(picture, lens)
    for lens in lenses:
        _draw_eye(picture, lens, (placed or {}).get(lens.shape.side, NOWHERE))
    a, b, ed = sizes or (shape.a_mm, shape.b_mm, shape.ed_mm)
    if placed is None:
        _draw_ed(picture, lenses[0], ed)
    _draw_sizes(picture, lenses, (a, b, dbl_mm))
    _draw_words(picture, headings, assumed)
    words = _described(a, b, dbl_mm, ed, assumed, placed)
    return picture.svg(title="Frame from the front", description=words, scale=scale)


def _draw_lens(picture: Picture, lens: _Lens) -> None:
    left, right, bottom, top = lens.box
    picture.polygon([(left, bottom), (right, bottom), (right, top), (left, top)], "box")
    picture.line((left, 0.0), (right, 0.0), "axis-line")
    picture.line((lens.centre_x, bottom), (lens.centre_x, top), "axis-line")
    picture.polygon(lens.shape.points() + np.array([lens.centre_x, 0.0]), "shape")


def _draw_eye(picture: Picture, lens: _Lens, placed: Placed) -> None:
    if placed.pd_mm is None or not 0.0 < placed.pd_mm < FARTHEST_MM:
        return
    x = lens.outward * placed.pd_mm
    bottom, top = lens.box[2], lens.box[3]
    picture.line((x, bottom - 2.0), (x, top + 2.0), "pupil-line")
    picture.text((x, top + 3.0), f"{placed.pd_mm:.1f}")
    if placed.height_mm is None or not 0.0 < placed.height_mm < FARTHEST_MM:
        return
    y = bottom + placed.height_mm
    picture.circle((x, y), PUPIL_RADIUS_MM, "pupil")
    picture.line((x - CROSS_ARM_MM, y), (x + CROSS_ARM_MM, y), "cross")
    picture.line((x, y - CROSS_ARM_MM), (x, y + CROSS_ARM_MM), "cross")
    edge = lens.box[0] if lens.outward < 0 else lens.box[1]
    at = edge + lens.outward * 3.0
    for level in (bottom, y):
        picture.line((x, level), (at + lens.outward, level), "extension")
    picture.dimension((at, bottom), (at, y), "", level=False)
    words = f"{placed.height_mm:.1f}"
    picture.text((at + lens.outward * 0.8, (bottom + y) / 2.0 - 0.9), words, anchor="end" if at < 0 else "start")


def _draw_ed(picture: Picture, lens: _Lens, ed_mm: float | None) -> None:
    """The circle whose diameter is the ED, and the longest radius that makes it."""
    if ed_mm is None or ed_mm > 2.0 * FARTHEST_MM:
        return
    picture.circle((lens.centre_x, 0.0), ed_mm / 2.0, "ed-circle")
    longest = int(np.argmax(lens.shape.radii))
    x, y = lens.shape.points()[longest]
    picture.line((lens.centre_x, 0.0), (lens.centre_x + float(x), float(y)), "measure")
    picture.text((lens.centre_x, ed_mm / 2.0 + 1.0), f"ED {ed_mm:.1f}")


def _draw_sizes(
    picture: Picture, lenses: tuple[_Lens, _Lens], sizes: tuple[float | None, float | None, float | None]
) -> None:
    a, b, dbl = sizes
    edge = picture.extent
    left, right, bottom, top = lenses[0].box
    y, x = edge[2] - 4.0, edge[0] - 4.0
    if a is not None:
        picture.dimension((left, y), (right, y), f"A {a:.1f}")
    if dbl is not None:
        picture.dimension((right, y), (lenses[1].box[0], y), f"DBL {dbl:.1f}")
    for side in (left, right, lenses[1].box[0]):
        picture.line((side, bottom), (side, y - 1.0), "extension")
    if b is not None:
        for level in (bottom, top):
            picture.line((left, level), (x - 1.0, level), "extension")
        picture.dimension((x, bottom), (x, top), f"B {b:.1f}", level=False)


def _draw_words(picture: Picture, headings: tuple[str, str], assumed: bool) -> None:
    left, right, bottom, top = picture.extent
    for heading, x in ((headings[0], left + 3.0), (headings[1], right - 3.0)):
        picture.text((x, top - 3.0), heading, "eye")
    y = bottom - 5.0
    half = SCALE_BAR_MM / 2.0
    picture.line((-half, y), (half, y), "scale")
    for step in range(0, SCALE_BAR_MM + 1, 10):
        picture.line((step - half, y), (step - half, y + (1.6 if step in (0, SCALE_BAR_MM) else 1.0)), "scale")
    picture.text((half + 2.0, y), f"{SCALE_BAR_MM} mm", "note", anchor="start")
    if assumed:
        picture.text((0.0, y - 4.5), "shape assumed from A, B and ED", "note")


def _described(
    a: float | None,
    b: float | None,
    dbl: float | None,
    ed: float | None,
    assumed: bool,
    placed: Mapping[Eye, Placed] | None,
) -> str:
    known = [
        f"{name} {value:.1f} mm" for name, value in (("A", a), ("B", b), ("DBL", dbl), ("ED", ed)) if value is not None
    ]
    parts = [f"Both lenses seen from the front: {', '.join(known)}{', shape assumed' if assumed else ''}."]
    for eye, place in (placed or {}).items():
        figures = [
            f"{name} {value:.1f} mm"
            for name, value in (("PD", place.pd_mm), ("height", place.height_mm))
            if value is not None
        ]
        if figures:
            parts.append(f"{eye.capitalize()} eye: {', '.join(figures)}.")
    return " ".join(parts)
