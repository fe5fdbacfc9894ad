"""Where the lenses must be centred: near distances, face form, optical-centre drop, segments and corridors.

Distances in mm; monocular distances run from the middle of the bridge to one eye's line of sight.  The near
model of the reports is `near_pd`; simpler ones from the handbooks stand beside it under their own names.
This module must never know a frame's shape (see boxing) or a design's catalogue data.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from dispensing.optics.conventions import stop_distance_mm
from dispensing.optics.errors import OpticsError, require_range
from dispensing.trade import figure

DROP_RULE_MM_PER_DEG = figure("optical-centre-drop", "a_degree_mm")
"""Handbook: lower the optical centre by half a mm for each degree of pantoscopic tilt."""


def near_pd(far_pd_mm: float, working_distance_mm: float, vertex_mm: float | None, horizontal_power_d: float) -> float:
    """The near centration distance in mm in the spectacle plane, monocular or binocular.

    far - far / (1 + W (1/s - F/1000)): W the working distance from the spectacle plane in mm, s the distance
    from the spectacle plane to the centre of rotation in mm (vertex + 13.5, 27 where the vertex distance is
    not known), F the distance power along 180 in D.  A plano lens gives far W / (W + s).  Source: the
    convergence relation in Jalie, Principles of Ophthalmic Lenses.
    """
    return far_pd_mm - near_inset(far_pd_mm, working_distance_mm, vertex_mm, horizontal_power_d)


def near_inset(
    far_pd_mm: float, working_distance_mm: float, vertex_mm: float | None, horizontal_power_d: float
) -> float:
    """Far minus near centration distance in mm (see near_pd); positive towards the nose."""
    far = require_range("far PD", far_pd_mm, "mm", 0.0, 120.0)
    work = _working_distance(working_distance_mm)
    power = require_range("power along 180", horizontal_power_d, "D", -40.0, 40.0)
    closeness = work * (1.0 / stop_distance_mm(vertex_mm) - power / 1000.0)
    # A plus lens stronger than the eye's own convergence leverage would put the near point behind the eye.
    if closeness <= 0.0:
        raise OpticsError("power along 180", power, "D", "less than 1000 / (vertex distance + 13.5)")
    return far / (1.0 + closeness)


def near_pd_plano(far_pd_mm: float, working_distance_mm: float, stop_mm: float = 27.0) -> float:
    """The exam form, which leaves the lens power out: far W / (W + s), mm."""
    far = require_range("far PD", far_pd_mm, "mm", 0.0, 120.0)
    work = _working_distance(working_distance_mm)
    return far * work / (work + require_range("lens to centre of rotation", stop_mm, "mm", 1.0, 60.0))


def near_pd_fixed_rule(far_pd_mm: float, binocular: bool = True) -> float:
    """The counter rule for about 40 cm: 3 mm less for the pair, 1.5 mm less an eye (never used for an order)."""
    return require_range("far PD", far_pd_mm, "mm", 0.0, 120.0) - (3.0 if binocular else 1.5)


def near_inset_three_quarters(demand_d: float) -> float:
    """Gerstman's three-quarter rule: inset an eye in mm = 0.75 x the dioptric demand of the near task."""
    return 0.75 * require_range("near demand", demand_d, "D", 0.0, 20.0)


def far_pd_from_near(near_pd_mm: float, working_distance_mm: float, stop_mm: float = 27.0) -> float:
    """The far PD in mm from a near PD in the spectacle plane, without lens power: near (W + s) / W."""
    near = require_range("near PD", near_pd_mm, "mm", 0.0, 120.0)
    work = _working_distance(working_distance_mm)
    return near * (work + require_range("lens to centre of rotation", stop_mm, "mm", 1.0, 60.0)) / work


def face_form_pd_difference(mono_pd_mm: float, face_form_deg: float) -> float:
    """PD (1 - cos face form), mm: what a monocular PD loses when seen square to the turned lens.

    The correction that goes with ISO 8624 measurements, which lie in the plane of the lens.
    """
    pd = require_range("monocular PD", mono_pd_mm, "mm", 0.0, 60.0)
    return pd * (1.0 - math.cos(_face_form(face_form_deg)))


def mono_pd_in_lens_plane(mono_pd_mm: float, face_form_deg: float, dbl_mm: float) -> float:
    """A monocular PD in mm measured straight ahead, laid along the turned lens.

    Half the bridge lies in the frontal plane; beyond it the lens recedes by the face form, so that the part
    on the lens is longer by 1 / cos.  Geometry of a flat lens plane hinged at the nasal box side.
    """
    pd = require_range("monocular PD", mono_pd_mm, "mm", 0.0, 60.0)
    half_bridge = require_range("distance between lenses", dbl_mm, "mm", 0.0, 40.0) / 2.0
    return half_bridge + (pd - half_bridge) / math.cos(_face_form(face_form_deg))


def optical_centre_drop(pantoscopic_deg: float, vertex_mm: float | None = None) -> float:
    """How far in mm below the straight-ahead pupil the optical centre belongs: s sin(tilt).

    So that the lens axis passes through the centre of rotation, s = vertex + 13.5 behind the lens (27 where
    the vertex distance is not known).  Negative for a retroscopic tilt.
    """
    tilt = require_range("pantoscopic tilt", pantoscopic_deg, "deg", -45.0, 45.0)
    return stop_distance_mm(vertex_mm) * math.sin(math.radians(tilt))


def optical_centre_drop_rule(pantoscopic_deg: float) -> float:
    """The handbook's drop: 1 mm for each 2 degrees of tilt, mm."""
    return DROP_RULE_MM_PER_DEG * require_range("pantoscopic tilt", pantoscopic_deg, "deg", -45.0, 45.0)


def tilt_for_drop_rule(drop_mm: float) -> float:
    """The tilt in degrees that goes with an optical centre `drop_mm` mm below the pupil (handbook rule)."""
    return require_range("optical-centre drop", drop_mm, "mm", -22.5, 22.5) / DROP_RULE_MM_PER_DEG


@dataclass(frozen=True, slots=True)
class LensPoint:
    """A point on a lens in mm from the boxed centre, positive towards the nose and up."""

    in_mm: float
    up_mm: float


def cross_from_box_centre(a_mm: float, dbl_mm: float, pd_mm: float, height_mm: float | None, b_mm: float) -> LensPoint:
    """The fitting point from the boxed centre: ((A + DBL)/2 - PD in, height - B/2 up), mm.

    A height of None (single vision on the datum) gives 0 up.
    """
    a = require_range("boxed lens width A", a_mm, "mm", 0.0, 100.0)
    dbl = require_range("distance between lenses", dbl_mm, "mm", 0.0, 60.0)
    pd = require_range("monocular PD", pd_mm, "mm", 0.0, 60.0)
    b = require_range("boxed lens height B", b_mm, "mm", 0.0, 100.0)
    up = 0.0 if height_mm is None else require_range("fitting height", height_mm, "mm", -100.0, 100.0) - b / 2.0
    return LensPoint((a + dbl) / 2.0 - pd, up)


def segment_centre(top: LensPoint, inset_mm: float, depth_mm: float) -> LensPoint:
    """The middle of a segment whose top lies at `top` straight below the far line of sight, mm.

    The segment is set in by its inset and reaches its depth below the top.
    """
    inset = require_range("segment inset", inset_mm, "mm", -10.0, 10.0)
    depth = require_range("segment depth", depth_mm, "mm", 0.0, 60.0)
    return LensPoint(top.in_mm + inset, top.up_mm - depth / 2.0)


def _working_distance(value_mm: float) -> float:
    return require_range("working distance", value_mm, "mm", 50.0, 20_000.0)


def _face_form(angle_deg: float) -> float:
    return math.radians(require_range("face form", angle_deg, "deg", -45.0, 45.0))
