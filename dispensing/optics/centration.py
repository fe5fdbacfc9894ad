"""Where the lenses must be centred: from the boxed centre, for near vision, with face form, and for the tilt.

Distances in mm; monocular distances run from the middle of the bridge to one eye's line of sight.  Reports use
`near_pd` as their model for near. This module must never know a frame's shape (see boxing) or a design's catalogue
data.
"""

from __future__ import annotations

import math

from dispensing.optics.conventions import stop_distance_mm
from dispensing.optics.errors import OpticsError, require_finite, require_range


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


def decentration_in(frame_pd_mm: float, pd_mm: float) -> float:
    """How far nasal of the boxed centre a lens is centred, mm: half the distance between the box centres (A + DBL) less
    the monocular PD. Boxing system (ISO 8624), ignoring face form; see `mono_pd_in_lens_plane`.
    """
    half = require_finite("distance between the box centres", frame_pd_mm, "mm") / 2.0
    return half - require_finite("monocular PD", pd_mm, "mm")


def decentration_up(height_mm: float, b_mm: float) -> float:
    """How far above the boxed centre a lens is centred, mm: the height above the lowest point less half of B."""
    return require_finite("height", height_mm, "mm") - require_finite("boxed lens height B", b_mm, "mm") / 2.0


def mono_pd_in_lens_plane(mono_pd_mm: float, face_form_deg: float, dbl_mm: float) -> float:
    """A monocular PD in mm measured straight ahead, laid along the turned lens.

    Half the bridge lies in the frontal plane; beyond it the lens recedes by the face form, so that the part
    on the lens is longer by 1 / cos.  Geometry of a flat lens plane hinged at the nasal box side.
    """
    pd = require_range("monocular PD", mono_pd_mm, "mm", 0.0, 60.0)
    half_bridge = require_range("distance between lenses", dbl_mm, "mm", 0.0, 40.0) / 2.0
    return half_bridge + (pd - half_bridge) / math.cos(_face_form(face_form_deg))


def centre_in(a_mm: float, dbl_mm: float, mono_pd_mm: float, face_form_deg: float = 0.0) -> float:
    """How far nasal of the boxed centre, along the lens, the line of sight meets it, mm: half of A and of DBL less the
    monocular PD laid along the turned lens. Without face form this is `decentration_in`.
    """
    a, dbl = require_finite("boxed lens width A", a_mm, "mm"), require_finite("distance between lenses", dbl_mm, "mm")
    return decentration_in(a + dbl, 0.0) - mono_pd_in_lens_plane(mono_pd_mm, face_form_deg, dbl)


def optical_centre_drop(pantoscopic_deg: float, vertex_mm: float | None = None) -> float:
    """How far in mm below the straight-ahead pupil the optical centre belongs: s sin(tilt).

    There the lens axis passes through the centre of rotation, s = vertex + 13.5 behind the lens (27 where the vertex
    distance is not known).  Negative for a retroscopic tilt.
    """
    tilt = require_range("pantoscopic tilt", pantoscopic_deg, "deg", -45.0, 45.0)
    return stop_distance_mm(vertex_mm) * math.sin(math.radians(tilt))


def _working_distance(value_mm: float) -> float:
    return require_range("working distance", value_mm, "mm", 50.0, 20_000.0)


def _face_form(angle_deg: float) -> float:
    return math.radians(require_range("face form", angle_deg, "deg", -45.0, 45.0))
