"""The handbook's formula for a tilted lens (Martin), beside the exact one of `tilt`.

For one tilt t of a spherical lens: sphere S (1 + sin² t / 2n), cylinder the sphere times tan² t, axis
along the turning axis (180 for pantoscopic tilt, 90 for face form).  Exam forms write 3 for 2n.  Sources
differ on whether the cylinder is taken of the new or of the original sphere; both are here.  The product
never uses these figures for an order; they are shown and tested beside the exact ones.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from dispensing.optics.conventions import Eye, nasal_sign, normalised_axis
from dispensing.optics.errors import require_range
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
    p = math.radians(require_range("pantoscopic tilt", pantoscopic_deg, "deg", -45.0, 45.0))
    w = math.radians(require_range("face form", face_form_deg, "deg", -45.0, 45.0))
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
    sphere = require_range("sphere", sphere_d, "D", -60.0, 60.0)
    tilt = math.radians(require_range("tilt", tilt_deg, "deg", -60.0, 60.0))
    new = sphere * (1.0 + math.sin(tilt) ** 2 / require_range("2n or 3", denominator, "", 2.6, 4.4))
    base = new if cylinder_from == "new_sphere" else sphere
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
    n = require_range("refractive index", index, "", 1.3, 2.2)
    tilt = total_tilt(pantoscopic_deg, face_form_deg, eye)
    along = ordered.power_along(tilt.meridian_deg)
    twice_n = 2.0 * n if denominator is None else denominator
    _, cylinder = handbook_tilted_sphere(along, tilt.angle_deg, twice_n)
    gain = 1.0 + math.sin(math.radians(tilt.angle_deg)) ** 2 / twice_n
    strengthened = SphereCylinder(ordered.sphere * gain, ordered.cylinder * gain, ordered.axis)
    return strengthened + SphereCylinder(0.0, cylinder, tilt.turning_axis_deg)
