"""Where the power of a finished lens lies beside the ordered one: a target of power vectors.

Across and up are the two components of the cylinder's error (J0 and J45), so that a wrong axis and a wrong cylinder
show as one distance; the bar beside it is the error of the mean power M (Thibos, Wheeler and Horner 1997). The middle
is the order, the outline what the limits of cylinder and axis allow, the small circle the uncertainty of the reading.
This module must never judge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from dispensing.optics.power import SphereCylinder
from dispensing.optics.power_vector import PowerVector
from dispensing.pictures.picture import Picture, Point

RADIUS = 20.0
BAR_X = 28.0
ROUND = 48
ROOM = 1.25


@dataclass(frozen=True)
class PowerError:
    """One lens. cylinder_d, axis_deg, mean_d: what the limits allow, either way; None: an axis not judged."""

    ordered: SphereCylinder
    found: SphereCylinder
    cylinder_d: float
    axis_deg: float | None
    mean_d: float
    uncertainty_d: float

    @property
    def error(self) -> PowerVector:
        return self.found.vector() - self.ordered.vector()

    def allowed(self) -> list[Point]:
        """The outline of the errors (J0, J45) that the limits of cylinder and axis allow, D."""
        size, axis = abs(self.ordered.cylinder), self.ordered.axis
        if self.ordered.cylinder > 0.0:
            axis += 90.0
        if self.axis_deg is None or size <= self.cylinder_d:
            turns = [360.0 * step / ROUND for step in range(ROUND)]
            return [_polar(self.cylinder_d / 2.0, turn) for turn in turns]
        steps = [self.axis_deg * (2.0 * step / ROUND - 1.0) for step in range(ROUND + 1)]
        outer = [_polar((size + self.cylinder_d) / 2.0, 2.0 * (axis + turn)) for turn in steps]
        inner = [_polar((size - self.cylinder_d) / 2.0, 2.0 * (axis + turn)) for turn in reversed(steps)]
        middle = _polar(size / 2.0, 2.0 * axis)
        return [(x - middle[0], y - middle[1]) for x, y in outer + inner]


def _polar(length: float, degrees: float) -> Point:
    return length * math.cos(math.radians(degrees)), length * math.sin(math.radians(degrees))


def power_error_drawing(error: PowerError, heading: str) -> str:
    """The target as SVG text; ``heading``: what the eye is called."""
    off, outline = error.error, error.allowed()
    reach = max(abs(off.j0), abs(off.j45), abs(off.m), error.mean_d, *(max(abs(x), abs(y)) for x, y in outline))
    scale = RADIUS / (reach * ROOM + error.uncertainty_d)
    picture = Picture(1.4)
    picture.circle((0.0, 0.0), RADIUS, "box")
    picture.line((-RADIUS, 0.0), (RADIUS, 0.0), "axis-line")
    picture.line((0.0, -RADIUS), (0.0, RADIUS), "axis-line")
    picture.polygon([(x * scale, y * scale) for x, y in outline], "allowed")
    _mark(picture, (off.j0 * scale, off.j45 * scale), error.uncertainty_d / 2.0 * scale)
    _mean(picture, error, scale)
    picture.text((-RADIUS, RADIUS - 1.0), heading, "eye", anchor="start")
    picture.text((RADIUS - 0.5, 0.8), "J0", "note", anchor="end")
    picture.text((0.8, RADIUS - 3.0), "J45", "note", anchor="start")
    return picture.svg(title=f"Error of the power, {heading}", description=described(error), scale=1.25)


def _mean(picture: Picture, error: PowerError, scale: float) -> None:
    picture.line((BAR_X, -RADIUS), (BAR_X, RADIUS), "axis-line")
    half = error.mean_d * scale
    picture.polygon([(BAR_X - 2.0, -half), (BAR_X + 2.0, -half), (BAR_X + 2.0, half), (BAR_X - 2.0, half)], "allowed")
    _mark(picture, (BAR_X, error.error.m * scale), error.uncertainty_d * scale)
    picture.text((BAR_X, RADIUS + 1.0), "Mean", "note")


def _mark(picture: Picture, at: Point, doubt: float) -> None:
    picture.circle(at, max(doubt, 0.8), "doubt")
    picture.circle(at, 0.7, "found")


def described(error: PowerError) -> str:
    """The same in words, for those who hear the page."""
    off = error.error
    return (
        f"Found less ordered: mean power {off.m:+.2f} D, J0 {off.j0:+.2f} D, J45 {off.j45:+.2f} D. "
        f"Allowed: mean power ±{error.mean_d:.2f} D, cylinder ±{error.cylinder_d:.2f} D"
        + ("." if error.axis_deg is None else f", axis ±{error.axis_deg:g}°.")
    )
