"""The eyes behind the lenses seen from above, to scale: the depths and widths found from a front and a side photo.

The wearer looks down the page and the wearer's right eye is on the left, as on the front photo. All in mm, backwards
from the lens plane. It draws what it is given and must never judge it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from dispensing.optics.conventions import EYES, Eye
from dispensing.pictures.picture import Picture
from dispensing.trade import figure

EYE_RADIUS_MM = 12.0
"""Half the length of an eye of 24 mm."""
CORNEA_TO_CENTRE_OF_ROTATION_MM = figure("schematic-eye", "cornea_to_rotation_mm")
USUAL_VERTEX_MM = figure("schematic-eye", "vertex_mm")
USUAL_A_MM, USUAL_DBL_MM = figure("drawn-frame", "a_mm"), figure("drawn-frame", "dbl_mm")
LENS_THICKNESS_MM = 2.0
IN_FRONT_MM = 26.0
"""How far in front of the lenses the lines of sight are drawn."""
FARTHEST_MM = 60.0
"""A figure larger than this comes from a misplaced mark and would only shrink the picture."""


@dataclass(frozen=True)
class Known:
    """A figure with its ±, both in mm."""

    value: float
    plus_minus: float

    def words(self) -> str:
        return f"{self.value:.1f} ± {self.plus_minus:.1f}"


@dataclass(frozen=True)
class EyeFromAbove:
    """Monocular PD, and where the near line of sight meets the lens; None where the marks do not show it."""

    pd_mm: Known | None = None
    near_pd_mm: Known | None = None
    a_mm: float | None = None


@dataclass(frozen=True)
class Depths:
    """``vertex_mm`` None: not measured; the usual distance is drawn, but no figure is written."""

    vertex_mm: Known | None = None
    dbl_mm: float | None = None
    face_form_deg: float = 0.0


def eyes_from_above(
    eyes: Mapping[Eye, EyeFromAbove], depths: Depths, *, headings: tuple[str, str] = ("R", "L"), scale: float = 1.0
) -> str:
    """SVG text; every figure with its ±."""
    picture = Picture()
    vertex = depths.vertex_mm.value if depths.vertex_mm else USUAL_VERTEX_MM
    half_bridge = (USUAL_DBL_MM if depths.dbl_mm is None else depths.dbl_mm) / 2.0
    picture.line((0.0, vertex + 2.0 * EYE_RADIUS_MM), (0.0, -IN_FRONT_MM - 4.0), "axis-line")
    for eye, heading in zip(EYES, headings):
        outward = -1.0 if eye == "right" else 1.0
        seen = eyes.get(eye, EyeFromAbove())
        _draw_lens(picture, seen, outward, half_bridge, depths.face_form_deg)
        picture.text((outward * (half_bridge + 48.0), vertex + 17.0), heading, "eye")
        if seen.pd_mm is not None and 0.0 < seen.pd_mm.value < FARTHEST_MM:
            _draw_eye(picture, seen, outward, vertex)
            _draw_sight(picture, seen.pd_mm, outward)
    if depths.vertex_mm is not None:
        _draw_vertex(picture, depths.vertex_mm)
    return picture.svg(title="The eyes behind the lenses, from above", description=_told(eyes, depths), scale=scale)


def _draw_lens(picture: Picture, seen: EyeFromAbove, outward: float, nasal_mm: float, face_form_deg: float) -> None:
    bent = math.radians(face_form_deg)
    a = USUAL_A_MM if seen.a_mm is None else seen.a_mm
    nasal = (outward * nasal_mm, 0.0)
    temporal = (outward * (nasal_mm + a * math.cos(bent)), a * math.sin(bent))
    thick = (outward * LENS_THICKNESS_MM * math.sin(bent), -LENS_THICKNESS_MM * math.cos(bent))
    front = [(x + thick[0], y + thick[1]) for x, y in (temporal, nasal)]
    picture.polygon([nasal, temporal, *front], "lens-section")


def _draw_eye(picture: Picture, seen: EyeFromAbove, outward: float, vertex: float) -> None:
    assert seen.pd_mm is not None
    x = outward * seen.pd_mm.value
    turning = (x, vertex + CORNEA_TO_CENTRE_OF_ROTATION_MM)
    picture.circle((x, vertex + EYE_RADIUS_MM), EYE_RADIUS_MM, "shape")
    picture.line((turning[0] - 1.5, turning[1]), (turning[0] + 1.5, turning[1]), "cross")
    picture.line((turning[0], turning[1] - 1.5), (turning[0], turning[1] + 1.5), "cross")
    picture.line(turning, (x, -IN_FRONT_MM), "pupil-line")
    if seen.near_pd_mm is not None:
        # From the eye's centre of rotation through the near crossing on the lens and on to the front.
        inwards = (turning[0] - outward * seen.near_pd_mm.value) / turning[1]
        picture.line(turning, (turning[0] - inwards * (turning[1] + IN_FRONT_MM), -IN_FRONT_MM), "corridor")


def _draw_sight(picture: Picture, pd: Known, outward: float) -> None:
    y = -IN_FRONT_MM - 2.0
    picture.dimension((0.0, y), (outward * pd.value, y), "")
    picture.text((outward * pd.value / 2.0, y - 5.4), pd.words(), "figure-large")


def _draw_vertex(picture: Picture, vertex: Known) -> None:
    picture.line((-8.0, vertex.value), (8.0, vertex.value), "extension")
    picture.dimension((0.0, 0.0), (0.0, vertex.value), "", level=False)
    picture.text((0.0, vertex.value + 2.0), vertex.words(), "figure-large")


def _told(eyes: Mapping[Eye, EyeFromAbove], depths: Depths) -> str:
    parts = ["Seen from above, the wearer looking down the page."]
    for eye, seen in eyes.items():
        figures = [
            f"{words} {known.words()} mm"
            for words, known in (("PD", seen.pd_mm), ("near PD", seen.near_pd_mm))
            if known is not None
        ]
        if figures:
            parts.append(f"{eye.capitalize()} eye: {', '.join(figures)}.")
    if depths.vertex_mm is not None:
        parts.append(f"Vertex distance {depths.vertex_mm.words()} mm.")
    return " ".join(parts)
