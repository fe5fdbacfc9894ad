"""Where the centres of a finished pair lie on its lenses: the ordered place with what is allowed, and the place found.

As seen from the front, like every drawing of an order. This module must never judge.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dispensing.pictures.picture import Picture, Point
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import Eye, LensOrder
from orders.drawings.layout import EyeLayout, pair_layout

ARM_MM = 3.0


@dataclass(frozen=True)
class CentreFound:
    """One lens: how far its centre is off (mm, inwards and up), and how far either may be; None if not known."""

    in_mm: float | None = None
    up_mm: float | None = None
    allowed_in_mm: float | None = None
    allowed_up_mm: float | None = None

    @property
    def is_read(self) -> bool:
        return self.in_mm is not None or self.up_mm is not None


def centres_drawing(
    order: LensOrder,
    catalogue: LensCatalogue | None,
    found: Mapping[Eye, CentreFound],
    headings: tuple[str, str] = ("R", "L"),
) -> str:
    """Both lens shapes with their centres as SVG text; empty if the frame or its centring is not known."""
    picture, layout = Picture(1.4), pair_layout(order, catalogue)
    for eye, heading in zip(layout.eyes, headings, strict=True):
        if eye.outline is None or eye.box is None:
            continue
        picture.polygon(eye.outline, "shape" if eye.is_ordered else "shape-kept")
        picture.text(
            (eye.box[0] if eye.eye == "right" else eye.box[1] - 3.0, eye.box[3] + 1.0), heading, "eye", "start"
        )
        if eye.is_ordered and eye.reference is not None:
            _draw(picture, eye, eye.reference, found.get(eye.eye, CentreFound()))
    if not picture.drawn:
        return ""
    return picture.svg(title="Where the centres lie", description=described(found), scale=1.3)


def _draw(picture: Picture, eye: EyeLayout, at: Point, centre: CentreFound) -> None:
    x, y = at
    picture.line((x - ARM_MM, y), (x + ARM_MM, y), "cross")
    picture.line((x, y - ARM_MM), (x, y + ARM_MM), "cross")
    _allowed(picture, eye, at, centre)
    if not centre.is_read:
        return
    # A length that was not read is drawn where it was ordered.
    there = (x + eye.in_sign * (centre.in_mm or 0.0), y + (centre.up_mm or 0.0))
    picture.arrow(at, there)
    picture.circle(there, 0.9, "found")


def _allowed(picture: Picture, eye: EyeLayout, at: Point, centre: CentreFound) -> None:
    if eye.box is None or (centre.allowed_in_mm is None and centre.allowed_up_mm is None):
        return
    left, right, bottom, top = eye.box
    (x, y), inwards, up = at, centre.allowed_in_mm, centre.allowed_up_mm
    west, east = (left, right) if inwards is None else (max(left, x - inwards), min(right, x + inwards))
    south, north = (bottom, top) if up is None else (max(bottom, y - up), min(top, y + up))
    picture.polygon([(west, south), (east, south), (east, north), (west, north)], "allowed")


def described(found: Mapping[Eye, CentreFound]) -> str:
    """The same in words, for those who hear the page."""
    said = [f"{eye.capitalize()}: {_off(centre)}" for eye, centre in found.items() if centre.is_read]
    return " ".join(said) or "Nothing is read yet."


def _off(centre: CentreFound) -> str:
    parts = []
    if centre.in_mm is not None:
        parts.append(f"{abs(centre.in_mm):.1f} mm {'in' if centre.in_mm >= 0.0 else 'out'}")
    if centre.up_mm is not None:
        parts.append(f"{abs(centre.up_mm):.1f} mm {'up' if centre.up_mm >= 0.0 else 'down'}")
    return ", ".join(parts) + "."
