"""Axes, signs, eye names and base directions, stated once for the whole optics core.

The chart of an eye is what a person facing the wearer sees: x runs to the viewer's right, y up, z from the
eye towards the viewer.  Axes and meridians are read on that chart (TABO): 0 = 180 is the horizontal, 90 the
vertical, counter-clockwise.  The wearer's right eye is at the viewer's left, so nasal is +x for the right
eye and -x for the left eye.

* `in` is towards the nose, `up` towards the brow; prism components are positive base in and base up.
* Base angle (360 notation): 0 = viewer's right, 90 = up.  Right eye base in = 0, left eye base in = 180.
* Pantoscopic tilt is positive when the lower rim is nearer the cheek: the lens turns about the horizontal,
  and its front looks down.
* Face form is positive when the temporal rim lies further back than the nasal rim: the lens turns about
  the vertical, and its front looks outwards (towards -x on the right eye, +x on the left eye).  It is the
  angle of one lens, not the angle between the two.
* Vertex distance runs from the cornea to the back apex of the lens, along the line of sight.

This module must never hold a formula of optics, only what words and signs mean.
"""

from __future__ import annotations

from typing import Any, Literal

from dispensing.optics.errors import OpticsError, require_finite, require_range
from dispensing.trade import figure

Eye = Literal["right", "left"]
Base = Literal["in", "out", "up", "down"]

EYES: tuple[Eye, Eye] = ("right", "left")
BASES: tuple[Base, ...] = ("in", "out", "up", "down")

CENTRE_OF_ROTATION_BEHIND_CORNEA_MM = figure("schematic-eye", "cornea_to_rotation_mm")
"""From the cornea to the eye's centre of rotation."""

LENS_TO_CENTRE_OF_ROTATION_MM = CENTRE_OF_ROTATION_BEHIND_CORNEA_MM + figure("schematic-eye", "vertex_mm")
"""From the back apex to the centre of rotation where the vertex distance is not known (13.5 + 13.5)."""

TOOLING_INDEX = figure("tooling", "index")
"""The index for which base curves are named: front radius in mm = 530 / curve in D."""


def require_eye(eye: Any) -> Eye:
    """Return the eye's name, or raise OpticsError if it is neither right nor left."""
    if not isinstance(eye, str) or eye not in EYES:
        raise OpticsError("eye", eye, "", "right or left")
    return eye


def other_eye(eye: Eye) -> Eye:
    """The fellow eye."""
    return "left" if require_eye(eye) == "right" else "right"


def nasal_sign(eye: Eye) -> float:
    """+1 where nasal is the viewer's right (right eye), -1 where it is the viewer's left (left eye)."""
    return 1.0 if require_eye(eye) == "right" else -1.0


def normalised_axis(axis_deg: float) -> float:
    """Any angle in degrees, brought into the trade's range 0 < axis <= 180 (0 is written 180)."""
    axis = require_finite("axis", axis_deg, "deg") % 180.0
    # An axis within a rounding error of horizontal is horizontal, and horizontal is written 180.
    return 180.0 if axis < 1e-9 or axis > 180.0 - 1e-9 else axis


def mirrored_axis(axis_deg: float) -> float:
    """The axis as mirrored across the nose: that of the same lens shape on the fellow eye, degrees."""
    return normalised_axis(180.0 - require_finite("axis", axis_deg, "deg"))


def axis_difference(first_deg: float, second_deg: float) -> float:
    """The smaller angle between two axes, degrees, 0 to 90 (179 and 1 differ by 2)."""
    difference = abs(require_finite("axis", first_deg, "deg") - require_finite("axis", second_deg, "deg")) % 180.0
    return min(difference, 180.0 - difference)


def stop_distance_mm(vertex_mm: float | None) -> float:
    """From the spectacle plane to the eye's centre of rotation, mm: vertex + 13.5; 27 where not known."""
    if vertex_mm is None:
        return LENS_TO_CENTRE_OF_ROTATION_MM
    vertex = require_range("vertex distance", vertex_mm, "mm", 0.0, 40.0)
    return vertex + CENTRE_OF_ROTATION_BEHIND_CORNEA_MM
