"""Rules of thumb and exam forms from handbooks, which the product never uses: its own figures are compared with them.

Published rows show that each is written down as in its source; tests then say how far the exact figure may lie from it.
Units and signs are those of the optics core.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from dispensing.optics.conventions import Eye, nasal_sign, normalised_axis
from dispensing.optics.power import SphereCylinder

EXAM_DENOMINATOR = 3.0
"""The exam form's stand-in for 2n: an index of 1.5."""


@dataclass(frozen=True, slots=True)
class TotalTilt:
    """Both tilts as one: the angle between line of sight and lens axis, and the meridian it lies in, degrees."""

    angle_deg: float
    meridian_deg: float

    @property
    def turning_axis_deg(self) -> float:
        """The meridian about which the lens turns: the axis of the induced cylinder."""
        return normalised_axis(self.meridian_deg + 90.0)


def total_tilt(pantoscopic_deg: float, face_form_deg: float, eye: Eye = "right") -> TotalTilt:
    """Pantoscopic tilt and face form in degrees as one tilt.

    cos(angle) = cos(pantoscopic) cos(face form); meridian = atan(tan(pantoscopic) / sin(face form)) on the
    right eye's chart, mirrored on the left's (Keating).
    """
    p = math.radians(pantoscopic_deg)
    w = math.radians(face_form_deg)
    # hypot keeps small angles exact where acos would lose half its digits.
    angle = math.degrees(math.atan2(math.hypot(math.sin(w) * math.cos(p), math.sin(p)), math.cos(p) * math.cos(w)))
    meridian = math.degrees(math.atan2(math.tan(p), math.sin(w) * nasal_sign(eye)))
    return TotalTilt(angle, normalised_axis(meridian))


def handbook_tilted_sphere(
    sphere_d: float,
    tilt_deg: float,
    denominator: float = EXAM_DENOMINATOR,
    cylinder_from: Literal["new_sphere", "original_sphere"] = "new_sphere",
) -> tuple[float, float]:
    """(sphere, cylinder) in D of a spherical lens tilted by `tilt_deg` degrees.

    denominator: 2n, or 3 in the exam form.  cylinder_from: which sphere tan² t multiplies.
    """
    tilt = math.radians(tilt_deg)
    new = sphere_d * (1.0 + math.sin(tilt) ** 2 / denominator)
    base = new if cylinder_from == "new_sphere" else sphere_d
    return new, base * math.tan(tilt) ** 2


def handbook_tilted_power(
    ordered: SphereCylinder,
    *,
    eye: Eye,
    index: float,
    pantoscopic_deg: float = 0.0,
    face_form_deg: float = 0.0,
    denominator: float | None = None,
) -> SphereCylinder:
    """Martin's formula for a sphero-cylinder and both tilts, minus-cylinder form, D.

    The cylinder of the tilt, taken of the power along the tilt, is added to the strengthened lens as a crossed
    cylinder.  denominator: None for 2n, 3 for the exam form.
    """
    tilt = total_tilt(pantoscopic_deg, face_form_deg, eye)
    along = ordered.power_along(tilt.meridian_deg)
    twice_n = 2.0 * index if denominator is None else denominator
    _, cylinder = handbook_tilted_sphere(along, tilt.angle_deg, twice_n)
    gain = 1.0 + math.sin(math.radians(tilt.angle_deg)) ** 2 / twice_n
    strengthened = SphereCylinder(ordered.sphere * gain, ordered.cylinder * gain, ordered.axis)
    return strengthened + SphereCylinder(0.0, cylinder, tilt.turning_axis_deg)


def wrap_prism(
    front_d: float, thickness_mm: float, index: float, face_form_deg: float, form: Literal["sine", "tangent"] = "sine"
) -> float:
    """Prism in Δ of a thick plano lens turned by its face form: 100 (t/n) F1 sin(angle) or tan(angle), t in m."""
    angle = math.radians(face_form_deg)
    turned = math.sin(angle) if form == "sine" else math.tan(angle)
    return 100.0 * thickness_mm / 1000.0 / index * front_d * turned


def near_pd_fixed_rule(far_pd_mm: float, *, binocular: bool = True) -> float:
    """The counter rule for about 40 cm: 3 mm less for the pair, 1.5 mm less an eye."""
    return far_pd_mm - (3.0 if binocular else 1.5)


def near_inset_three_quarters(demand_d: float) -> float:
    """Gerstman's three-quarter rule: inset an eye in mm = 0.75 × the dioptric demand of the near task."""
    return 0.75 * demand_d


def centre_drop_rule(pantoscopic_deg: float) -> float:
    """How far the optical centre is lowered, mm: 1 mm for each 2 degrees of tilt."""
    return pantoscopic_deg / 2.0


def pd_lost_by_face_form(mono_pd_mm: float, face_form_deg: float) -> float:
    """PD (1 − cos face form), mm: what a monocular PD loses when seen square to the turned lens."""
    return mono_pd_mm * (1.0 - math.cos(math.radians(face_form_deg)))


def longest_corridor(fitting_height_mm: float, reading_allowance_mm: float) -> float:
    """The longest corridor in mm: fitting height less 4 to 5 mm for reading (20/20 CE Plus, 2015)."""
    return fitting_height_mm - reading_allowance_mm


def sag_approximate(power_d: float, index: float, semi_aperture_mm: float) -> float:
    """Exam form of the sag in mm: y² F/(2000 (n − 1)); short for steep curves (9 % at 10 D and 60 mm)."""
    return semi_aperture_mm**2 * power_d / (2000.0 * (index - 1.0))


def back_vertex_power_approximate(front_d: float, back_d: float, thickness_mm: float, index: float) -> float:
    """Exam form of the back vertex power in D: F1 + F2 + (t/n) F1², t in metres."""
    return front_d + back_d + thickness_mm / 1000.0 / index * front_d**2
