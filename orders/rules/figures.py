"""One eye's figures, shown in the report and judged by the rules, from the optics core; each is worked out once.

A figure is None if what it depends on is missing or unusable. Figures are never rounded here. This module must never
judge.
"""

from __future__ import annotations

from functools import cached_property
from typing import Literal

from dispensing.optics import base_curve, blank, centration, cutout
from dispensing.optics.base_curve import BaseCurve, BaseCurveRow
from dispensing.optics.blank import Blank, BlankFit
from dispensing.optics.boxing import LensShape
from dispensing.optics.cutout import ZoneInFrame
from dispensing.optics.errors import OpticsError, require_range
from dispensing.optics.imbalance import READING_LEVEL_MM, add_prism_up
from dispensing.optics.lens_body import LensBody
from dispensing.optics.oblique_lens import STEEPEST_DEG
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism
from dispensing.optics.tilt import worn_power
from dispensing.trade import Limits
from dispensing.trade.position_of_wear import possible_vertex_mm
from orders.documents.lens_catalogue import Corridor, Material
from orders.rules.bodies import PlacedLens, Substance, body_of
from orders.rules.eye_facts import EyeFacts, frame_pd_mm
from orders.rules.worked_out import figure

NO_PRISM = Prism()

LARGEST_BLANK_MM = 200.0
"""No blank is anywhere near this size; a larger figure was mistyped."""


class Figures:
    """All the figures for one eye; lengths in mm, positive towards the nose and up, powers in D."""

    def __init__(self, eye: EyeFacts):
        self._eye = eye
        self._order = eye.order
        # Rules compare the same few materials again and again.
        self._bodies: dict[str, LensBody | None] = {}

    @figure
    def decentration_in_mm(self) -> float | None:
        """(A + DBL)/2 − PD, the PD being that of the use."""
        return self._decentration_in(self._eye.made.pd_mm)

    @figure
    def far_decentration_in_mm(self) -> float | None:
        """The same with the far PD, whatever the pair is for."""
        return self._decentration_in(self._eye.made.far_pd_mm)

    def _decentration_in(self, pd: float | None) -> float | None:
        frame_pd = frame_pd_mm(self._order.frame)
        return None if frame_pd is None or pd is None else centration.decentration_in(frame_pd, pd)

    @figure
    def centre_in_mm(self) -> float | None:
        """From the boxed centre along the lens to where the line of sight meets it: A/2 + (DBL/2 − PD)/cos face form.

        Everything that lies on the lens is placed by this; `decentration_in_mm` is the handbook's figure, for a lens
        in the plane of the face.
        """
        return self._centre_in(self._eye.made.pd_mm)

    @figure
    def far_centre_in_mm(self) -> float | None:
        """The same with the far PD, whatever the pair is for."""
        return self._centre_in(self._eye.made.far_pd_mm)

    def _centre_in(self, pd: float | None) -> float | None:
        frame = self._order.frame
        if frame.a_mm is None or frame.dbl_mm is None or pd is None:
            return None
        return centration.centre_in(frame.a_mm, frame.dbl_mm, pd, self._face_form_deg or 0.0)

    @property
    def _face_form_deg(self) -> float | None:
        """The face form, if a frame can have it; nothing follows from a mistyped one."""
        angle = self._order.fitting.face_form_deg
        return None if angle is None or abs(angle) > STEEPEST_DEG else angle

    @figure
    def decentration_up_mm(self) -> float | None:
        """Height − B/2 for the cross, segment top or optical centre; 0 for single vision without a height."""
        height, b = self._eye.fitted.height_mm, self._order.frame.b_mm
        if height is None:
            return 0.0 if self._eye.kind == "single_vision" else None
        return None if b is None else centration.decentration_up(height, b)

    @figure
    def prism_point(self) -> tuple[float, float] | None:
        """The position of the prism reference point from the boxed centre, (in, up)."""
        inwards, upwards, design = self.centre_in_mm, self._centre_up_mm, self._eye.design
        if inwards is None or upwards is None or design is None:
            return None
        below_cross = design.cross_above_prism_point_mm or 0.0 if self._eye.has_cross else 0.0
        return blank.prism_reference_point(inwards, upwards, below_cross)

    @property
    def _centre_up_mm(self) -> float | None:
        """Height above the boxed centre of the point the blank is laid out by: cross or distance optical centre."""
        if self._eye.kind not in ("bifocal", "trifocal"):
            return self.decentration_up_mm
        segment = self._eye.design.segment if self._eye.design else None
        if segment is None or segment.below_centre_mm is None:
            return 0.0
        top = self.decentration_up_mm
        return None if top is None else top + segment.below_centre_mm

    @property
    def shape(self) -> LensShape | None:
        return self._eye.shapes.eye(self._eye.eye)

    @cached_property
    def listed_blanks(self) -> tuple[Blank, ...]:
        """The design's blanks, in the optics core's terms."""
        design = self._eye.design
        listed = design.blanks if design else ()
        return tuple(Blank(row.diameter_mm, row.centre_in_mm, row.centre_up_mm) for row in listed)

    @figure
    def blank_fit(self) -> BlankFit | None:
        """The blank in use against the shape: the one ordered, else the smallest that fits, else the largest."""
        shape, point, lens = self.shape, self.prism_point, self._eye.lens
        if shape is None or point is None or lens is None:
            return None
        if lens.blank_mm is not None:
            ordered = require_range("ordered blank", lens.blank_mm, "mm", 1.0, LARGEST_BLANK_MM)
            return blank.choose_blank(self.listed_blanks, shape, point, ordered)
        if not self.listed_blanks:
            return None
        fitting = blank.smallest_fitting_blank(self.listed_blanks, shape, point)
        largest = max(row.diameter_mm for row in self.listed_blanks)
        return fitting or blank.choose_blank(self.listed_blanks, shape, point, largest)

    @figure
    def blank_needed_mm(self) -> float | None:
        """Exact, for the layout in use; if no blank is listed or ordered, for one centred on the prism point."""
        if self.blank_fit is not None:
            return self.blank_fit.needed_mm
        if self.shape is None or self.prism_point is None or self._eye.lens is None:
            return None
        return blank.blank_needed_mm(self.shape, self.prism_point)

    @figure
    def blank_by_formula_mm(self) -> float | None:
        """The handbook's ED + 2 × |decentration in| + 2."""
        ed, inwards = self._order.frame.ed_mm, self.decentration_in_mm
        if ed is None and self._eye.shapes.origin == "given" and self.shape is not None:
            ed = self.shape.ed_mm
        return None if ed is None or inwards is None else blank.blank_by_formula_mm(ed, inwards)

    @property
    def near_pd_mm(self) -> float | None:
        return self._eye.made.near_pd_mm

    @property
    def near_inset_mm(self) -> float | None:
        """Far minus near PD at the working distance."""
        return self._eye.made.near_inset_mm

    @figure
    def mean_sphere(self) -> float | None:
        return self._eye.made_power.mean_sphere

    @figure
    def base_curve(self) -> BaseCurve | None:
        """The 1.530 tooling curve in use: ordered, else by the design's table, else Vogel's rule."""
        ordered = self._eye.lens.base_curve_d if self._eye.lens else None
        return self._base_curve(ordered)

    @figure
    def usual_base_curve(self) -> BaseCurve | None:
        """The curve that it would be if none were ordered; None without a power."""
        return self._base_curve(None)

    def _base_curve(self, ordered_d: float | None) -> BaseCurve | None:
        design, mean = self._eye.design, self.mean_sphere
        if self._eye.lens is None or design is None or (mean is None and ordered_d is None):
            return None
        rows = [BaseCurveRow(row.from_d, row.to_d, row.curve_d) for row in design.base_curves]
        return base_curve.base_curve(mean or 0.0, rows, ordered_d)

    @property
    def base_curve_d(self) -> float | None:
        """The base curve in D."""
        return self.base_curve.curve_d if self.base_curve else None

    @figure
    def body(self) -> LensBody | None:
        """The edged lens with its prism and the thinnest centre that the material's minima allow."""
        return self._body()

    @figure
    def body_as_ordered(self) -> LensBody | None:
        """The lens with the ordered centre thickness; None when none is ordered."""
        lens = self._eye.lens
        if lens is None or lens.centre_thickness_mm is None:
            return None
        return self._body(lens.centre_thickness_mm)

    @property
    def body_as_made(self) -> LensBody | None:
        """The edged lens with everything ordered, the centre thickness too if one is."""
        return self.body_as_ordered or self.body

    def body_in(self, material: Material) -> LensBody | None:
        """The lens in another material, at its thinnest; None if the optics core refuses it."""
        if material.id not in self._bodies:
            own = self._eye.material
            is_own = own is not None and own.id == material.id
            self._bodies[material.id] = self.body if is_own else self._body_or_none(material)
        return self._bodies[material.id]

    def _body_or_none(self, material: Material) -> LensBody | None:
        try:
            return self._body(material=material)
        except OpticsError:
            return None

    def _body(self, centre_thickness_mm: float | None = None, material: Material | None = None) -> LensBody | None:
        placed, substance = self.placed, self.substance_of(material or self._eye.material)
        return None if placed is None or substance is None else body_of(placed, substance, centre_thickness_mm)

    @figure
    def placed(self) -> PlacedLens | None:
        """The lens without its material: all that order and design say of its body."""
        power, curve, shape, point = self._eye.made_power.optical, self.base_curve_d, self.shape, self.prism_point
        if power is None or curve is None or shape is None or point is None:
            return None
        prism = self._eye.made_power.prism or NO_PRISM
        return PlacedLens(shape, power, prism, curve, point, self._power_of_full_width_segment)

    @property
    def _power_of_full_width_segment(self) -> SphereCylinder | None:
        """Distance power and add together, of a segment that takes the whole width; None of any other lens."""
        power, add = self._eye.made_power.optical, self._eye.prescribed.add
        segment = self._eye.design.segment if self._eye.design else None
        if power is None or add is None or segment is None or not segment.is_full_width:
            return None
        return SphereCylinder(power.sphere + add, power.cylinder, power.axis)

    def substance_of(self, material: Material | None) -> Substance | None:
        """What the material says of the body; None if any of it is not known."""
        least_edge = self._min_edge_of(material)
        if material is None or least_edge is None:
            return None
        if material.density_g_cm3 is None or material.min_centre_mm is None:
            return None
        return Substance(material.index, material.density_g_cm3, material.min_centre_mm, least_edge)

    @figure
    def traced_reading_prism_up_pd(self) -> float | None:
        """The vertical prism by an exact ray at the reading level, less that prescribed at the reference point."""
        body, point = self.body_as_made, self.prism_point
        if body is None or point is None:
            return None
        return body.prism_at(point[0], point[1] - READING_LEVEL_MM).up_pd - body.prism_at(*point).up_pd

    @figure
    def add_prism_up_pd(self) -> float | None:
        """What a progressive add brings in vertical prism from the reference point to the reading level."""
        design, corridor, add = self._eye.design, self.corridor_length_mm, self._eye.power.add
        if not self._eye.has_cross or design is None or corridor is None or add is None:
            return None
        point = design.cross_above_prism_point_mm or 0.0
        return add_prism_up(add, corridor, point, point + READING_LEVEL_MM)

    @property
    def min_edge_mm(self) -> float | None:
        """The material's minimum edge in this frame's mount."""
        return self._min_edge_of(self._eye.material)

    @property
    def _worn_vertex_mm(self) -> float | None:
        """The worn vertex distance; None also for a mistyped one. No practice can change what is plausible here."""
        return possible_vertex_mm(self._eye.fitted.vertex_mm, Limits())

    def _min_edge_of(self, material: Material | None) -> float | None:
        mount = self._order.frame.mount
        return material.min_edge_mm.get(mount) if material and mount else None

    @figure
    def as_worn(self) -> SphereCylinder | None:
        """The power felt when the ordered power sits at the given vertex, tilt and face form: through the lens as made,
        or if its body is not known, through a thin lens.
        """
        fitting, tested = self._order.fitting, possible_vertex_mm(self._order.prescription.vertex_mm, Limits())
        power, material, worn = self._eye.made_power.optical, self._eye.material, self._worn_vertex_mm
        tilt, face_form = fitting.pantoscopic_deg, fitting.face_form_deg
        if power is None or material is None or tested is None or worn is None:
            return None
        if tilt is None or face_form is None:
            return None
        body, prism = self.body_as_made, self._eye.made_power.prism or NO_PRISM
        return worn_power(
            power,
            eye=self._eye.eye,
            index=material.index,
            pantoscopic_deg=tilt,
            face_form_deg=face_form,
            base_curve_d=self.base_curve_d if body else None,
            centre_thickness_mm=body.centre_thickness_mm if body else None,
            tested_vertex_mm=tested,
            worn_vertex_mm=worn,
            prism_in_pd=prism.in_pd,
            prism_up_pd=prism.up_pd,
        )

    @property
    def as_worn_model(self) -> Literal["thick", "thin"] | None:
        """Whether `as_worn` follows light through the lens as made, or through a thin one because no more is known."""
        if self.as_worn is None:
            return None
        return "thick" if self.body_as_made else "thin"

    @figure
    def optical_centre_drop_mm(self) -> float | None:
        """How far below the straight-ahead pupil the optical centre should be for the given tilt."""
        tilt = self._order.fitting.pantoscopic_deg
        if tilt is None:
            return None
        return centration.optical_centre_drop(tilt, self._worn_vertex_mm)

    @figure
    def corridor(self) -> Corridor | None:
        """The corridor ordered; if none is named, the design's only one."""
        design, lens = self._eye.design, self._eye.lens
        if design is None or lens is None:
            return None
        if lens.corridor_mm is None:
            return design.corridors[0] if len(design.corridors) == 1 else None
        listed = (row for row in design.corridors if abs(row.length_mm - lens.corridor_mm) < 0.005)
        return next(listed, None)

    @figure
    def near_circle(self) -> ZoneInFrame | None:
        """The near circle against the lens shape: below the cross by the corridor, and nasal of it by the inset."""
        inwards, upwards = self.centre_in_mm, self.decentration_up_mm
        design, shape = self._eye.design, self.shape
        if not self._eye.has_cross or design is None or shape is None or inwards is None or upwards is None:
            return None
        radius, inset, corridor = design.near_zone_radius_mm, design.near_inset_mm, self.corridor_length_mm
        if radius is None or inset is None or corridor is None:
            return None
        x, y = cutout.near_circle_centre(inwards, upwards, corridor, inset)
        return cutout.zone_in_frame(shape, x, y, radius)

    @property
    def corridor_length_mm(self) -> float | None:
        """The corridor length in use, even one that the design does not list."""
        lens = self._eye.lens
        if lens is not None and lens.corridor_mm is not None:
            return lens.corridor_mm
        return self.corridor.length_mm if self.corridor else None

    @figure
    def clearance_above_mm(self) -> float | None:
        """Room from the fitting cross to the upper edge, within 10 mm to either side."""
        inwards, upwards = self.centre_in_mm, self.decentration_up_mm
        if not self._eye.has_cross or self.shape is None or inwards is None or upwards is None:
            return None
        return cutout.clearance_above(self.shape, inwards, upwards)
