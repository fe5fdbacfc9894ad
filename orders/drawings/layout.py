"""Where everything in an order drawing lies, in mm as seen from the front: x to the viewer's right from the middle of
the bridge, y up from the boxed centre line.

The positions come from the same figures that the order check judges, so the picture and the findings cannot
disagree. A figure that is missing or unusable is None. This module must never know how anything is drawn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.blank import EDGING_ALLOWANCE_MM, BlankFit, cut_off
from dispensing.optics.boxing import LensShape
from dispensing.optics.lens_body import LensBody
from dispensing.pictures.picture import Point
from dispensing.trade import figure
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import Eye, LensOrder
from orders.rules.case import Case, EyeCase
from orders.rules.thickest import Thickest, thickest_of

NO_CATALOGUE = LensCatalogue(format="lens-catalogue/1", lab="")
ASSUMED_BRIDGE_MM = figure("drawn-frame", "dbl_mm")
"""If the distance between lenses is not known, the lenses are drawn this far apart and nothing is centred."""
FARTHEST_MM = 60.0
"""A point farther than this from the boxed centre is a typing error, and would only shrink the picture."""


@dataclass(frozen=True)
class EyeLayout:
    """One eye in the picture. `centre_x`: the boxed centre, mm from the middle of the bridge."""

    eye: Eye
    centre_x: float
    facts: EyeCase

    @property
    def in_sign(self) -> int:
        """+1 if the nose is to the viewer's right of the lens (right eye)."""
        return 1 if self.eye == "right" else -1

    def place(self, in_mm: float, up_mm: float) -> Point:
        """The position in the picture of a point given from the boxed centre (towards the nose, up)."""
        return self.centre_x + self.in_sign * in_mm, up_mm

    @cached_property
    def shape(self) -> LensShape | None:
        return self.facts.case.shapes.eye(self.eye)

    @cached_property
    def outline(self) -> FloatArray | None:
        """The corner points of the lens shape in the picture, shape (n, 2)."""
        return None if self.shape is None else self.shape.points() + np.array([self.centre_x, 0.0])

    @cached_property
    def box(self) -> tuple[float, float, float, float] | None:
        """The left, right, bottom and top of the boxed lens in the picture."""
        if self.shape is None:
            return None
        left, right, bottom, top = self.shape.box
        return left + self.centre_x, right + self.centre_x, bottom, top

    @property
    def is_ordered(self) -> bool:
        return self.facts.lens is not None

    @cached_property
    def reference(self) -> Point | None:
        """The fitting cross, segment top or optical centre, depending on the kind of design."""
        return self._near_box(self.facts.figures.centre_in_mm, self.facts.figures.decentration_up_mm)

    @cached_property
    def pupil_x(self) -> float | None:
        """Where the line of sight meets the lens across: straight ahead, or at near in a pair for near."""
        inwards = self.facts.figures.centre_in_mm
        return None if inwards is None or abs(inwards) > FARTHEST_MM else self.place(inwards, 0.0)[0]

    @property
    def pupil(self) -> Point | None:
        """The pupil; its height is known only from a fitting cross or a measured optical centre."""
        if self.facts.has_cross or (self.facts.kind == "single_vision" and self.facts.fitted.height_mm is not None):
            return self.reference
        return None

    @cached_property
    def fit(self) -> BlankFit | None:
        return self.facts.figures.blank_fit if self.is_ordered else None

    @cached_property
    def blank_centre(self) -> Point | None:
        point = self.facts.figures.prism_point
        if self.fit is None or point is None:
            return None
        return self._near_box(point[0] + self.fit.blank.centre_in_mm, point[1] + self.fit.blank.centre_up_mm)

    @cached_property
    def missing(self) -> tuple[FloatArray, ...]:
        """The parts of the shape that the blank does not cover, each closed along the blank's usable edge."""
        point = self.facts.figures.prism_point
        if self.fit is None or point is None or self.shape is None or self.blank_centre is None or self.fit.fits:
            return ()
        usable = max(self.fit.blank.diameter_mm / 2.0 - EDGING_ALLOWANCE_MM, 0.0)
        found = cut_off(self.shape, point, self.fit.blank)
        return tuple(self._closed(stretch, usable) for stretch in found.stretches)

    @cached_property
    def body(self) -> LensBody | None:
        """The edged lens as a body; None if its power, material, shape or position is not known."""
        return self.facts.figures.body_as_made

    @cached_property
    def thickest(self) -> Thickest | None:
        """Where the edged lens is thickest; None if its body is not known."""
        return None if self.body is None or not self.is_ordered else thickest_of(self.body, self.eye)

    @cached_property
    def near_circle(self) -> tuple[Point, float] | None:
        """The centre and radius of a progressive lens's near circle."""
        zone = self.facts.figures.near_circle if self.is_ordered else None
        if zone is None:
            return None
        middle = self._near_box(*zone.centre_in_up_mm)
        return None if middle is None else (middle, zone.radius_mm)

    def _near_box(self, in_mm: float | None, up_mm: float | None) -> Point | None:
        if in_mm is None or up_mm is None or max(abs(in_mm), abs(up_mm)) > FARTHEST_MM:
            return None
        return self.place(in_mm, up_mm)

    def _closed(self, stretch: FloatArray, radius: float) -> FloatArray:
        """The stretch in the picture, closed along the circle on the side where the stretch lies."""
        assert self.blank_centre is not None
        middle = np.array(self.blank_centre)
        edge = stretch * np.array([self.in_sign, 1.0]) + np.array([self.centre_x, 0.0])
        first, last = (math.atan2(*(edge[i] - middle)[::-1]) for i in (0, -1))
        turn = (first - last + math.pi) % (2.0 * math.pi) - math.pi
        angles = last + turn * np.linspace(0.0, 1.0, 24)
        arc = middle + radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        return np.concatenate([edge, arc])


@dataclass(frozen=True)
class PairLayout:
    """Both eyes in the picture, and the figures shown on its dimension lines (mm)."""

    order: LensOrder
    right: EyeLayout
    left: EyeLayout
    a_mm: float | None
    b_mm: float | None
    dbl_mm: float | None

    @property
    def eyes(self) -> tuple[EyeLayout, EyeLayout]:
        return self.right, self.left


def pair_layout(order: LensOrder, catalogue: LensCatalogue | None) -> PairLayout:
    """Lay out the order; without a catalogue, nothing is known about the lenses themselves."""
    case = Case(order, catalogue or NO_CATALOGUE)
    frame, shape = order.frame, case.shapes.right
    a_mm = frame.a_mm if frame.a_mm is not None or shape is None else shape.a_mm
    b_mm = frame.b_mm if frame.b_mm is not None or shape is None else shape.b_mm
    bridge = frame.dbl_mm if frame.dbl_mm is not None and 0.0 <= frame.dbl_mm <= FARTHEST_MM else ASSUMED_BRIDGE_MM
    half = ((a_mm if a_mm is not None and shape is not None else 0.0) + bridge) / 2.0
    half = min(half, 2.0 * FARTHEST_MM)
    right, left = EyeLayout("right", -half, case.right), EyeLayout("left", half, case.left)
    return PairLayout(order, right, left, a_mm, b_mm, frame.dbl_mm)
