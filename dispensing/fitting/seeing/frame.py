"""The eight sides of a known frame on a photo: roughly as one figure, then along each lens's outline, then exactly.

A rim has two edges: only the inner ones, where the lenses end, are as far apart as A, B and DBL say. Every side gets
its own trust; one that does not show says nothing against the others.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import cv2
import numpy as np

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.documents import EYES, Eye
from dispensing.fitting.seeing.face import RgbImage
from dispensing.fitting.seeing.figure import ACROSS, Chosen, Name, as_one_figure, off_the_others
from dispensing.fitting.seeing.outline import Box, Outline, angles, both_followed, unrolled
from dispensing.fitting.seeing.sides import Along, Touching, along_side, edges_along, touching
from dispensing.fitting.seeing.trust import SideLooks, how_sure
from dispensing.fitting.seeing.upright import PX_PER_MM, Plane, Upright, in_mm, in_px, on_photo, upright_picture
from dispensing.fitting.seeing.whereabouts import FrameSizes, Whereabouts, places_of, whereabouts

LEANS_DEG = (-3.0, -1.5, 0.0, 1.5, 3.0)
ROUNDS = 2
SMOOTH_ANGLES = 1.5
SIDES = ("nasal", "temporal", "top", "bottom")


@dataclass(frozen=True)
class SeenSide:
    """The middle of one side of a box, px of the photo, how surely it is one (0 to 1), and what that is told by."""

    x_px: float
    y_px: float
    sure: float
    looks: SideLooks


@dataclass(frozen=True)
class _Set:
    """One side in the upright picture."""

    along: Along
    chosen: Chosen
    touch: Touching
    worth: float


def find_sides(
    photo: RgbImage, irises: dict[Eye, tuple[float, float]], px_per_mm: float, frame: FrameSizes
) -> dict[Eye, dict[str, SeenSide]]:
    """The four sides of both boxes. ``irises``: their middles in px; ``px_per_mm``: as the irises tell it."""
    right, left = (np.array(irises[eye]) for eye in ("right", "left"))
    middle, lean = (right + left) / 2, float(np.degrees(np.arctan2(*(left - right)[::-1])))
    tried = (whereabouts(upright_picture(photo, middle, px_per_mm, lean + by), frame, by) for by in LEANS_DEG)
    place = max(tried, key=lambda one: one.score)
    for round_ in range(ROUNDS):
        picture = upright_picture(photo, middle, px_per_mm, lean + place.lean_deg)
        sides = _set_on_edges(picture, frame, place)
        if round_ < ROUNDS - 1:
            place = _moved(place, sides, frame)
    return _told(picture, sides, frame, place.size)


def _set_on_edges(picture: Upright, frame: FrameSizes, place: Whereabouts) -> dict[Name, _Set]:
    boxes = {eye: _box(sides) for eye, sides in places_of(frame, place).items()}
    outlines, plane, darker, usual = _outlines(picture, boxes)
    alongs: dict[Name, Along] = {}
    for eye, outline in outlines.items():
        drawn = _drawn(outline, boxes[eye], eye)
        for name in SIDES:
            axis, sign = _way_out(eye, name)
            alongs[eye, name] = along_side(plane, drawn, axis, sign, darker, usual[eye])
    edges = {name: edges_along(along, frame.bare(name[1])) for name, along in alongs.items()}
    chosen = as_one_figure(edges, frame, place.size)
    worths = {eye: float(np.median(outline.worth)) for eye, outline in outlines.items()}
    return {
        name: _Set(along, chosen[name], touching(along, chosen[name].edge), worths[name[0]])
        for name, along in alongs.items()
    }


def _box(sides: dict[str, tuple[float, float]]) -> Box:
    x = (sides["nasal"][0] + sides["temporal"][0]) / 2, abs(sides["nasal"][0] - sides["temporal"][0]) / 2
    y = (sides["top"][1] + sides["bottom"][1]) / 2, abs(sides["top"][1] - sides["bottom"][1]) / 2
    return Box(float(in_px(x[0], 0)), float(in_px(y[0], 1)), x[1] * PX_PER_MM, y[1] * PX_PER_MM)


def _outlines(picture: Upright, boxes: dict[Eye, Box]) -> tuple[dict[Eye, Outline], Plane, bool, dict[Eye, float]]:
    """Both outlines, as a rim darker (or bluer) than what lies beside it or the reverse, whichever shows most."""
    best: tuple[float, dict[Eye, Outline], Plane, bool, dict[Eye, float]] | None = None
    mean = float(np.sqrt(boxes["right"].half_a * boxes["right"].half_b)) / PX_PER_MM
    for plane, darker in product(picture.planes, (True, False)):
        flat = {eye: unrolled(plane, boxes[eye], eye, PX_PER_MM, darker) for eye in EYES}
        found = both_followed(flat["right"], flat["left"], mean)
        worth = sum(float(one.worth.sum()) for one in found.values())
        if best is None or worth > best[0]:
            best = worth, found, plane, darker, {eye: flat[eye].usual for eye in EYES}
    assert best is not None
    return best[1:]


def _drawn(outline: Outline, box: Box, eye: Eye) -> FloatArray:
    """The outline in mm of the upright picture, places × (x, y), its single steps smoothed."""
    thrice = np.tile(outline.parts, 3)[np.newaxis]
    smooth = cv2.GaussianBlur(thrice, (0, 0), SMOOTH_ANGLES)[0, len(outline.parts) : 2 * len(outline.parts)]
    mirror = 1.0 if eye == "right" else -1.0
    x = box.x + mirror * box.half_a * smooth * np.cos(angles())
    y = box.y + box.half_b * smooth * np.sin(angles())
    drawn: FloatArray = np.column_stack([in_mm(x, 0), in_mm(y, 1)])
    return drawn


def _way_out(eye: Eye, name: str) -> tuple[int, float]:
    """Which axis a side lies across, and which way of it leads out of the lens."""
    if name in ("top", "bottom"):
        return 1, -1.0 if name == "top" else 1.0
    return 0, (-1.0 if eye == "right" else 1.0) * (1 if name == "temporal" else -1)


def _moved(place: Whereabouts, sides: dict[Name, _Set], frame: FrameSizes) -> Whereabouts:
    """The whole figure as the sides that were chosen tell it: middle, size and lean."""
    at = {name: one.chosen.edge.at for name, one in sides.items()}
    half = frame.dbl_mm / 2
    should = np.array([-half - frame.a_mm, -half, half, half + frame.a_mm])
    across = np.array([at[name] for name in ACROSS])
    down = {eye: (at[eye, "top"] + at[eye, "bottom"]) / 2 for eye in EYES}
    lean = float(np.degrees(np.arctan2(down["left"] - down["right"], frame.a_mm + frame.dbl_mm)))
    return replace(
        place,
        across=float(across.mean()),
        down=(down["right"] + down["left"]) / 2,
        size=float(across @ should / (should @ should)),
        lean_deg=place.lean_deg + float(np.clip(lean, -2.0, 2.0)),
    )


def _told(picture: Upright, sides: dict[Name, _Set], frame: FrameSizes, size: float) -> dict[Eye, dict[str, SeenSide]]:
    """The sides in px of the photo: each in the middle of its box's side."""
    found: dict[Eye, dict[str, SeenSide]] = {eye: {} for eye in EYES}
    at = {name: one.touch.at for name, one in sides.items()}
    off = off_the_others(at, frame, size)
    for eye, name in sides:
        centre = (at[eye, "nasal"] + at[eye, "temporal"]) / 2, (at[eye, "top"] + at[eye, "bottom"]) / 2
        x, y = (centre[0], at[eye, name]) if name in ("top", "bottom") else (at[eye, name], centre[1])
        looks = _looks(eye, name, sides, off[eye, name])
        found[eye][name] = SeenSide(*on_photo(picture, x, y), how_sure(looks), looks)
    return found


def _looks(eye: Eye, name: str, sides: dict[Name, _Set], off_mm: float) -> SideLooks:
    one, other = sides[eye, name], sides["left" if eye == "right" else "right", name]
    return SideLooks(
        strength=one.chosen.edge.strength,
        worth=one.chosen.edge.worth,
        ahead=one.chosen.ahead,
        off_mm=off_mm,
        uneven_mm=abs(one.touch.at - other.touch.at) if name in ("top", "bottom") else 0.0,
        all_off_mm=float(np.sqrt(np.mean([each.chosen.off_mm**2 for each in sides.values()]))),
        scatter_mm=one.touch.scatter_mm,
        agree=one.touch.agree,
        outline=one.worth,
    )
