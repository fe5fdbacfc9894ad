"""The lens as a solid body: centre and edge thickness, thickness anywhere, volume and weight of the edged lens.

Spherical front, toric or spherical back with the exact back vertex power in each meridian, both apices on the prism
reference point, the optical axis square to the front there and to the plane of the shape; the shape is cut along the
axis, without bevel. A prescribed prism turns the back about its apex, the thickness growing towards the base; its two
curves are those for which light traced through the reference point has the ordered power and prism (`turned_back`). The
centre is the thinnest that keeps the material's minimum centre there and wherever the lens has a thinnest place inside
its shape, and its minimum edge at every corner. There is no prism thinning unless the caller adds it to the prism. The
power is made as given: this module must never know about as-worn compensation, catalogues or orders. Places are mm in
the wearer's frame (in +, up +) from the boxed centre; axes are on the viewer's chart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from dispensing.optics.arrays import FloatArray, finite_array
from dispensing.optics.boxing import LensShape
from dispensing.optics.conventions import normalised_axis
from dispensing.optics.edge import EdgePlaces
from dispensing.optics.errors import OpticsError, require_range
from dispensing.optics.lens_forms import STRONGEST_PD, LensForms, corners_from, lens_forms, minimum_limits
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism
from dispensing.optics.surface import THICKEST_MM, ToricBack, sag, toric_back
from dispensing.optics.thinnest import cut_lenses, lenses_of_centre
from dispensing.optics.traced_prism import traced_prism
from dispensing.optics.volume import volumes


@dataclass(frozen=True, eq=False)
class LensBody:
    """One edged lens. Thicknesses and places in mm, volume in mm³, weight in g (see the module for the frame).

    `edge_mm`: thickness at each corner of the shape, in the order of its radii; `thinnest_mm`: least thickness anywhere
    in the edged lens, at `thinnest_at` (in, up).
    """

    shape: LensShape
    power: SphereCylinder
    back: ToricBack
    front_curvature: float
    reference_in_up_mm: tuple[float, float]
    centre_thickness_mm: float
    thinnest_mm: float
    thinnest_at: tuple[float, float]
    edge_mm: FloatArray
    volume_mm3: float
    weight_g: float

    @property
    def edge_min_mm(self) -> float:
        """Thinnest edge, mm; negative when the surfaces meet before the edge (a forced centre thickness only)."""
        return float(self.edge_mm.min())

    @property
    def edge_max_mm(self) -> float:
        """Thickest edge, mm."""
        return float(self.edge_mm.max())

    @property
    def is_thinnest_inside(self) -> bool:
        """Whether the lens is thinner within its shape than at its edge."""
        return self.thinnest_mm < self.edge_min_mm

    @property
    def thickest_at(self) -> tuple[float, float]:
        """Where the edge is thickest, mm (in, up) from the boxed centre."""
        return _corner_of(self.shape, int(np.argmax(self.edge_mm)))

    def edge_profile(self) -> FloatArray:
        """Edge thickness all round, shape (corners, 2): angle in degrees (counter-clockwise from the viewer's right,
        about the boxed centre), thickness in mm.
        """
        return np.stack([self.shape.angles_deg(), self.edge_mm], axis=1)

    def thickness_at(self, in_mm: float | FloatArray, up_mm: float | FloatArray) -> FloatArray:
        """Thickness in mm along the optical axis at places from the boxed centre (in, up); arrays broadcast.

        The place may lie outside the shape. Raises OpticsError where a surface does not reach.
        """
        x = (finite_array("place, in", in_mm, "mm") - self.reference_in_up_mm[0]) * self.shape.in_sign
        y = finite_array("place, up", up_mm, "mm") - self.reference_in_up_mm[1]
        front = sag(self.front_curvature, np.square(x) + np.square(y))
        return np.asarray(self.centre_thickness_mm + self.back.sag_at(x, y) - front)

    def prism_at(self, in_mm: float, up_mm: float) -> Prism:
        """The prism in Δ where light enters the lens at a place from the boxed centre, by an exact ray.

        At the reference point this is the prescribed prism; elsewhere `prism.prism_at` is Prentice's estimate of what
        is added to it. Raises OpticsError where no ray comes through.
        """
        x = (in_mm - self.reference_in_up_mm[0]) * self.shape.in_sign
        y = up_mm - self.reference_in_up_mm[1]
        right, up = traced_prism(self.back, self.front_curvature, self.centre_thickness_mm, x, y)
        return Prism(right * self.shape.in_sign + 0.0, up + 0.0)


def _corner_of(shape: LensShape, index: int) -> tuple[float, float]:
    """One corner of a shape, mm (in, up) from the boxed centre."""
    place = shape.points_in_up()[index]
    return float(place[0]), float(place[1])


def lens_body(
    shape: LensShape,
    power: SphereCylinder,
    *,
    index: float,
    density_g_cm3: float,
    front_curve_d: float,
    min_centre_mm: float,
    min_edge_mm: float,
    reference_in_up_mm: tuple[float, float] = (0.0, 0.0),
    prism_in: float = 0.0,
    prism_up: float = 0.0,
    centre_thickness_mm: float | None = None,
) -> LensBody:
    """The edged lens for one eye.

    power: back vertex power in D, axis on the viewer's chart (for a progressive the distance power). front_curve_d:
    1.530 tooling curve (front radius 530 / curve). reference_in_up_mm: prism reference point from the boxed centre.
    prism_in, prism_up: prescribed prism in Δ by its base. centre_thickness_mm: an ordered centre thickness, used as it
    is instead of the thinnest. Raises OpticsError for a value out of range and where a surface does not reach the edge.
    """
    forms = lens_forms(
        1,
        sphere=power.sphere,
        cylinder=power.cylinder,
        axis_deg=power.axis,
        index=index,
        front_curve_d=front_curve_d,
        prism_x=require_range("prism", prism_in, "Δ", -STRONGEST_PD, STRONGEST_PD) * shape.in_sign,
        prism_y=prism_up,
    )
    density = require_range("density", density_g_cm3, "g/cm³", 0.5, 10.0)
    reference = [np.array(require_range("reference point", v, "mm", -200.0, 200.0)) for v in reference_in_up_mm]
    if len(reference) != 2:
        raise OpticsError("reference point", reference_in_up_mm, "", "two places, in and up, in mm")
    places = corners_from([shape], reference[0] * shape.in_sign, reference[1])
    corners = EdgePlaces(forms, *forms.in_own_directions(*places))
    limits = minimum_limits(1, min_centre_mm, min_edge_mm)
    if centre_thickness_mm is None:
        cut = cut_lenses(corners, *limits)
    else:
        ordered = require_range("centre thickness", centre_thickness_mm, "mm", 0.1, THICKEST_MM)
        cut = lenses_of_centre(corners, np.array([[ordered]]))
    volume = float(volumes(forms, corners.along, corners.across, cut.centre_mm)[0])
    edge_mm = cut.edge_mm[0]
    edge_mm.setflags(write=False)
    x, y = forms.on_chart(cut.inside.along, cut.inside.across)
    inside_at = (
        float(x[0, 0]) * shape.in_sign + reference_in_up_mm[0],
        float(y[0, 0]) + reference_in_up_mm[1],
    )
    return LensBody(
        shape=shape,
        power=power,
        back=_back(forms, power, cut.centre_mm),
        front_curvature=float(forms.front_curvature[0, 0]),
        reference_in_up_mm=reference_in_up_mm,
        centre_thickness_mm=float(cut.centre_mm[0, 0]),
        thinnest_mm=float(cut.thinnest_mm[0]),
        thinnest_at=inside_at if cut.thinnest_inside[0] else _corner_of(shape, int(np.argmin(edge_mm))),
        edge_mm=edge_mm,
        volume_mm3=volume,
        weight_g=volume * density / 1000.0,
    )


def _back(forms: LensForms, power: SphereCylinder, centre: FloatArray) -> ToricBack:
    """The back of the one lens."""
    index, thickness = float(forms.index[0, 0]), float(centre[0, 0])
    if not forms.has_wedge:
        return toric_back(power, float(forms.front_d[0, 0]), thickness, index)
    backs, base = forms.turned_backs(centre), float(forms.base_angle[0, 0])
    flat_d, steep_d = (-1000.0 * (index - 1.0) * float(curve[0, 0]) for curve in (backs.flat, backs.steep))
    axis = math.degrees(base + math.atan2(float(backs.sine[0, 0]), float(backs.cosine[0, 0])))
    slope = float(forms.slope[0, 0])
    return ToricBack(flat_d, steep_d, normalised_axis(axis), index, True, slope, math.degrees(base))
