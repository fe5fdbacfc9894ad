"""The edge of each lens all the way round, unrolled and to scale: from the nose over the brow, the temple and the
cheek back to the nose.

One band for each eye, the front surface's edge as its straight lower side. This module must never compute a thickness
itself.
"""

from __future__ import annotations

import math

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.lens_body import LensBody
from dispensing.pictures.picture import TEXT_MM, Picture
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder
from orders.drawings.layout import PairLayout, pair_layout

PLACES = ("nose", "top", "temple", "bottom")
"""Where the quarters of the way round begin, by the angle from the boxed centre."""

TURN = 2.0 * math.pi
CLEAR_MM = 1.0


def edge_drawing(
    order: LensOrder,
    catalogue: LensCatalogue | None = None,
    *,
    headings: tuple[str, str] = ("R", "L"),
    scale: float = 1.0,
    layout: PairLayout | None = None,
    lettering: float = 1.0,
) -> str:
    """Both edges as SVG text; empty text if no lens body can be worked out.

    Arguments as for the cross-sections. Lenses in one frame are as long round their edge as each other, so their
    drawings are at one scale.
    """
    layout = layout or pair_layout(order, catalogue)
    picture, words, foot = Picture(lettering), [], 0.0
    for eye, heading in zip(layout.eyes, headings, strict=True):
        if eye.body is None:
            continue
        way = _unrolled(eye.body)
        foot = _draw(picture, heading, way, foot)
        words.append(_words(eye.eye, way))
    if not words:
        return ""
    return picture.svg(title="The edges of the lenses, unrolled", description=" ".join(words), scale=scale)


def _unrolled(body: LensBody) -> FloatArray:
    """Rows of (way along the edge in mm, angle from the nose over the brow, edge thickness in mm), closed."""
    places = body.shape.points_in_up()
    angles = np.mod(np.arctan2(places[:, 1], places[:, 0]), TURN)
    order = np.argsort(angles, kind="stable")
    places, angles, edge = places[order], angles[order], body.edge_mm[order]
    steps = np.hypot(*np.diff(np.vstack([places, places[:1]]), axis=0).T)
    way = np.concatenate([[0.0], np.cumsum(steps)])
    return np.stack([way, np.append(angles, angles[0] + TURN), np.append(edge, edge[0])], axis=1)


def _draw(picture: Picture, heading: str, way: FloatArray, foot: float) -> float:
    """One band below `foot`; returns the lowest place drawn."""
    line = TEXT_MM * picture.lettering
    base = foot - line - CLEAR_MM - float(way[:, 2].max())
    top = np.stack([way[:, 0], base + way[:, 2]], axis=1)
    picture.polygon(np.vstack([top, [[way[-1, 0], base], [0.0, base]]]), "lens-section")
    for place in (int(way[:, 2].argmax()), int(way[:, 2].argmin())):
        x, _, edge = way[place]
        picture.text((float(x), base + float(edge) + 0.5 * CLEAR_MM), f"{edge:.1f}")
    low = base - CLEAR_MM - line
    for quarter, name in enumerate((*PLACES, PLACES[0])):
        x = float(np.interp(quarter * TURN / len(PLACES), way[:, 1], way[:, 0]))
        picture.line((x, base), (x, base - CLEAR_MM), "scale")
        anchor = "start" if quarter == 0 else "end" if quarter == len(PLACES) else "middle"
        picture.text((x, low), f"{heading}  {name}" if quarter == 0 else name, "note", anchor)
    return low - CLEAR_MM


def _words(eye: str, way: FloatArray) -> str:
    """``Right lens: edge 4.1 mm at the temple at most, 1.2 mm at the nose at least.``"""
    most, least = int(way[:, 2].argmax()), int(way[:, 2].argmin())
    said = [f"{way[place, 2]:.1f} mm at the {_place(way[place, 1])}" for place in (most, least)]
    return f"{eye.capitalize()} lens: edge at most {said[0]}, at least {said[1]}."


def _place(angle: float) -> str:
    return PLACES[round(angle / TURN * len(PLACES)) % len(PLACES)]
