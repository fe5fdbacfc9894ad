"""A lens that the line of sight meets obliquely: the exact refraction behind `tilt`.

Generalised Coddington equations (Kneisly, J Opt Soc Am 54, 1964; Keating, Geometric, Physical and Visual
Optics).  A wavefront of power matrix V in a medium of index n, refracted at a surface of curvature matrix C:

    M'ᵀ V' M' = Mᵀ V M + (n' cos i' - n cos i) C

where M and M' project steps on the surface onto the planes across the ray before and after it.  Between surfaces V
becomes V (1 - (L/n) V)^-1 over a path L.  The line of sight passes through the back apex, where the curvature of a
toric surface is exact; the front is a sphere, exact everywhere.  All of it is linear in the back surface, so the
ordered power is found from the felt one without iteration.

Power matrices are in D on the viewer's chart, any shape (..., 2, 2).  In the frame of the lens the back apex is the
origin and z points to the object; light comes down z.  This module must never know about prescriptions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.conventions import TOOLING_INDEX, Eye, nasal_sign
from dispensing.optics.errors import OpticsError, require_range
from dispensing.optics.lens_forms import STRONGEST_PD, wedge_slope
from dispensing.optics.prism import Prism

STEEPEST_DEG = 45.0
LOWEST_INDEX, HIGHEST_INDEX = 1.3, 2.2


@lru_cache(maxsize=512)
def lens_rotation(eye: Eye, pantoscopic_deg: float, face_form_deg: float) -> FloatArray:
    """The 3x3 rotation that takes directions in the lens to the wearer's (x right, y up, z to the viewer).

    Pantoscopic about the horizontal first, then face form about the vertical.  The front normal becomes
    (-+ sin w cos p, -sin p, cos w cos p), minus on the right eye.  Raises OpticsError beyond 45 degrees.
    """
    p = math.radians(require_range("pantoscopic tilt", pantoscopic_deg, "deg", -STEEPEST_DEG, STEEPEST_DEG))
    w = math.radians(require_range("face form", face_form_deg, "deg", -STEEPEST_DEG, STEEPEST_DEG)) * nasal_sign(eye)
    tilt = np.array([[1.0, 0.0, 0.0], [0.0, math.cos(p), -math.sin(p)], [0.0, math.sin(p), math.cos(p)]])
    turn = np.array([[math.cos(w), 0.0, -math.sin(w)], [0.0, 1.0, 0.0], [math.sin(w), 0.0, math.cos(w)]])
    product: FloatArray = turn @ tilt
    product.setflags(write=False)  # shared by every caller with the same angles
    return product


@dataclass(frozen=True, slots=True)
class ThinObliqueLens:
    """An infinitely thin lens on the line of sight; angles in degrees, index without unit."""

    eye: Eye
    pantoscopic_deg: float
    face_form_deg: float
    index: float

    @property
    def obliquity(self) -> float:
        """k = (n cos i' - cos i) / (n - 1): how much the tilt strengthens the lens."""
        cos_i = math.cos(math.radians(self.pantoscopic_deg)) * math.cos(math.radians(self.face_form_deg))
        return oblique_gain(cos_i, self.index)

    def felt(self, ordered: FloatArray) -> FloatArray:
        """The power matrix felt along the line of sight: k Aᵀ F A."""
        across = _inverse(lens_rotation(self.eye, self.pantoscopic_deg, self.face_form_deg)[:2, :2])
        result: FloatArray = self.obliquity * (across.T @ ordered @ across)
        return result

    def ordered(self, felt: FloatArray) -> FloatArray:
        """The inverse of felt."""
        step = lens_rotation(self.eye, self.pantoscopic_deg, self.face_form_deg)[:2, :2]
        result: FloatArray = step.T @ felt @ step / self.obliquity
        return result


def oblique_gain(cos_incidence: float, index: float) -> float:
    """(n cos i' - cos i) / (n - 1) for the angle i in air, n sin i' = sin i."""
    cosine = require_range("cosine of the incidence", cos_incidence, "", 0.0, 1.0)
    n = require_range("refractive index", index, "", LOWEST_INDEX, HIGHEST_INDEX)
    inside = math.sqrt(1.0 - (1.0 - cosine**2) / n**2)
    return (n * inside - cosine) / (n - 1.0)


@dataclass(frozen=True, slots=True)
class ThickObliqueLens:
    """A lens with a spherical front and any back, the line of sight through its back apex.

    Angles in degrees, base_curve_d the 1.530 tooling curve of the front in D (0 is flat), thickness in mm. prism_in_pd,
    prism_up_pd: prescribed prism in Δ by its base, for which the back is turned about its apex (see `turned_back`).
    """

    eye: Eye
    pantoscopic_deg: float
    face_form_deg: float
    index: float
    base_curve_d: float
    centre_thickness_mm: float
    prism_in_pd: float = 0.0
    prism_up_pd: float = 0.0

    def __post_init__(self) -> None:
        require_range("base curve", self.base_curve_d, "D", -20.0, 25.0)
        require_range("centre thickness", self.centre_thickness_mm, "mm", 0.0, 40.0)
        for prism in (self.prism_in_pd, self.prism_up_pd):
            require_range("prism", prism, "Δ", -STRONGEST_PD, STRONGEST_PD)

    def felt(self, ordered: FloatArray) -> FloatArray:
        """The power matrix felt along the line of sight of a lens of back vertex power `ordered`."""
        back = self._back()
        across, light = _inverse(self._rotation()[:2] @ back.plane), self._light()
        result: FloatArray = across.T @ (self._reached(back, light) + light.gain * back.curvature_for(ordered)) @ across
        return result

    def ordered(self, felt: FloatArray) -> FloatArray:
        """The back vertex power whose felt power is `felt`; the exact inverse of felt."""
        back, light = self._back(), self._light()
        across = self._rotation()[:2] @ back.plane
        return back.power_of((across.T @ felt @ across - self._reached(back, light)) / light.gain)

    def prism(self) -> Prism:
        """The prism in Δ at the line of sight: how far it is bent between object and eye.

        Where no prism is prescribed the back is square to the lens axis at its apex whatever its curves, so the prism
        comes from the front and the thickness alone.
        """
        object_ray = self._rotation() @ self._front_hit(self._light().inside).object_direction
        x, y = (-100.0 * object_ray[:2] / abs(object_ray[2])).tolist()
        return Prism(x * nasal_sign(self.eye) + 0.0, y + 0.0)

    def _rotation(self) -> FloatArray:
        return lens_rotation(self.eye, self.pantoscopic_deg, self.face_form_deg)

    def _back(self) -> _Back:
        x = self.prism_in_pd * nasal_sign(self.eye)
        return _turned_back(x, self.prism_up_pd, self.index, self._front_at_back_apex())

    def _light(self) -> _Light:
        """The line of sight on either side of the back, in the frame of the lens."""
        normal, leaving = self._back().normal, -self._rotation()[2]
        tangential = (leaving - (leaving @ normal) * normal) / self.index
        cos_inside = math.sqrt(1.0 - float(tangential @ tangential))
        gain = -float(leaving @ normal) - self.index * cos_inside
        return _Light(tangential - cos_inside * normal, gain)

    def _reached(self, back: _Back, light: _Light) -> FloatArray:
        """The vergence that reaches the back, laid on its surface, D."""
        on_back = _across(light.inside).T @ back.plane
        result: FloatArray = on_back.T @ self._carried(light.inside) @ on_back
        return result

    def _front_curvature(self) -> float:
        return self.base_curve_d / (TOOLING_INDEX - 1.0)

    def _front_at_back_apex(self) -> float:
        """What the front contributes to the back vertex power: F1 / (1 - (t/n) F1), D."""
        front = (self.index - 1.0) * self._front_curvature()
        return front / (1.0 - self.centre_thickness_mm / 1000.0 / self.index * front)

    def _front_hit(self, inside: FloatArray) -> _FrontHit:
        path, normal = _path_to_front(inside, self._front_curvature(), self.centre_thickness_mm / 1000.0)
        tangential = self.index * (inside - (inside @ normal) * normal)
        flat = float(tangential @ tangential)
        if flat >= 1.0:
            raise OpticsError("tilt", "too steep", "", "a ray that can leave the lens", "The light stays inside.")
        return _FrontHit(path, normal, tangential - math.sqrt(1.0 - flat) * normal)

    def _carried(self, inside: FloatArray) -> FloatArray:
        """The vergence the front gives, carried to the back apex, across the ray inside the lens, D."""
        hit = self._front_hit(inside)
        gain = self.index * -float(inside @ hit.normal) + float(hit.object_direction @ hit.normal)
        # Steps on the front surface, seen across the ray inside the lens.
        on_front = _inverse(_across(inside).T @ _across(hit.normal))
        vergence = gain * self._front_curvature() * (on_front.T @ on_front)
        result: FloatArray = vergence @ _inverse(np.eye(2) - hit.path_m / self.index * vergence)
        return result


@dataclass(frozen=True, slots=True)
class _Light:
    """The line of sight inside the lens, and what the back's curvature (1/m) is multiplied by to give power, D."""

    inside: FloatArray
    gain: float


@dataclass(frozen=True, slots=True)
class _Back:
    """The back at its apex, square to the axis or turned for a prism, and light along the axis.

    `plane`: two unit vectors in its tangent plane as columns (3, 2), the first towards the base; `normal`: towards the
    object; `turn`: the base's direction on the chart, a rotation (2, 2); `inside`, `leaving`: how much shorter a step
    towards the base is across the ray before and after the back; `gain` as for `_Light`; `reached_d`: vergence, D.
    """

    plane: FloatArray
    normal: FloatArray
    turn: FloatArray
    inside: FloatArray
    leaving: FloatArray
    gain: float
    reached_d: float

    def curvature_for(self, ordered: FloatArray) -> FloatArray:
        """The curvature (1/m) of the surface for an ordered power: see `turned_back.turned_backs`."""
        wanted = self.leaving @ (self.turn.T @ ordered @ self.turn) @ self.leaving
        result: FloatArray = (wanted - self.reached_d * self.inside @ self.inside) / self.gain
        return result

    def power_of(self, curvature: FloatArray) -> FloatArray:
        """The inverse of `curvature_for`."""
        back = _inverse(self.leaving)
        wanted = back @ (self.gain * curvature + self.reached_d * self.inside @ self.inside) @ back
        result: FloatArray = self.turn @ wanted @ self.turn.T
        return result


def _turned_back(prism_x: float, prism_y: float, index: float, reached_d: float) -> _Back:
    """prism_x, prism_y: prescribed prism in Δ by its base on the viewer's chart."""
    amount = math.hypot(prism_x, prism_y)
    x, y = (prism_x / amount, prism_y / amount) if amount else (1.0, 0.0)
    slope = float(wedge_slope(amount, index))
    cosine = 1.0 / math.sqrt(1.0 + slope * slope)
    sine = slope * cosine
    leaving = math.sqrt(1.0 - (index * sine) ** 2)
    return _Back(
        np.array([[cosine * x, -y], [cosine * y, x], [-sine, 0.0]]),
        np.array([sine * x, sine * y, cosine]),
        np.array([[x, -y], [y, x]]),
        np.diag([cosine, 1.0]),
        np.diag([leaving, 1.0]),
        leaving - index * cosine,
        reached_d,
    )


@dataclass(frozen=True, slots=True)
class _FrontHit:
    """Where the line of sight crosses the front: path from there to the back apex in m, unit directions."""

    path_m: float
    normal: FloatArray
    object_direction: FloatArray


def _across(direction: FloatArray) -> FloatArray:
    """Two unit vectors across a direction near z, as the columns of a (3, 2) array."""
    x, y, z = direction.tolist()
    flat = math.hypot(x, z)
    # The first is (0, 1, 0) x direction, the second direction x first.
    return np.array([[z / flat, -x * y / flat], [0.0, flat], [-x / flat, -y * z / flat]])


def _inverse(matrix: FloatArray) -> FloatArray:
    """The inverse of one 2x2 matrix."""
    (a, b), (c, d) = matrix.tolist()
    inverse: FloatArray = np.array([[d, -b], [-c, a]]) / (a * d - b * c)
    return inverse


def _path_to_front(inside: FloatArray, curvature: float, thickness_m: float) -> tuple[float, FloatArray]:
    """The path in m from the back apex, against the light, to the front, and the front's normal there.

    A sphere of curvature c (1/m) with its apex at (0, 0, t) is c |Q - apex|² + 2 (z - t) = 0.  With Q = -s inside
    it becomes c s² + 2 b s + e = 0, solved in the form that also holds for a flat front.
    """
    lean = -float(inside[2])
    b = lean * (1.0 - curvature * thickness_m)
    e = curvature * thickness_m**2 - 2.0 * thickness_m
    inner = b * b - curvature * e
    if inner <= 0.0:
        raise OpticsError("base curve", "too steep", "", "a front the line of sight can reach")
    path = -e / (b + math.sqrt(inner))
    point = -path * inside
    return path, np.array([0.0, 0.0, 1.0]) + curvature * (point - np.array([0.0, 0.0, thickness_m]))
