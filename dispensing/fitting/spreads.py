"""The usual spreads of errors that no mark shows, and how a practice or a file replaces them with its own.

This module must never know where in the geometry a spread acts. All figures are one standard deviation.
"""

from __future__ import annotations

from dataclasses import dataclass

from dispensing.fitting.documents import Spreads
from dispensing.trade import figure

SPREADS = "photo-spreads"
UNKNOWN = "photo-unknown"

ASSUMED_DISTANCE_MM = (figure(UNKNOWN, "distance_mm"), figure(UNKNOWN, "distance_sd_mm"))
"""From where a front photo is taken of which neither the distance nor the focal length is known, and one spread."""

SENSOR_PITCH_SD_DEG = figure(UNKNOWN, "sensor_pitch_sd_deg")
"""How far a phone's own sensor is off when it tells how the camera is held."""

GROOVE_MM = (figure(UNKNOWN, "groove_mm"), figure(UNKNOWN, "groove_sd_mm"))
"""How far the edge of a lens lies inside the visible rim, and one spread."""

ALIKE_MM = figure(UNKNOWN, "lenses_alike_sd_mm")
"""How far the two lenses of a frame differ in width and depth, as made."""

ENGRAVED_MM = figure(UNKNOWN, "engraved_sd_mm")
"""How far a size engraved in whole millimetres may be from the size as boxed."""

USUAL_TILT_DEG = (figure(UNKNOWN, "tilt_deg"), figure(UNKNOWN, "tilt_sd_deg"))
"""The pantoscopic angle of a front that nobody measured, and one spread: it hides a part of B."""


@dataclass(frozen=True)
class UsualSpreads:
    """For a wearer standing naturally in front of a hand-held camera.

    Taken as exact unless a spread is given: the centre-of-rotation depth, the focal length, the face form, a given
    camera distance, how far in front of the lens plane a card was held, and how far the lens lies from the line of the
    rims. At 1 m an error of 10 % in the distance moves the PD by 0.17 mm in all.
    """

    mark_sd_px: float = figure(SPREADS, "mark_px")
    head_turn_deg: float = figure(SPREADS, "head_turn_deg")
    chin_deg: float = figure(SPREADS, "chin_deg")
    camera_up_mm: float = figure(SPREADS, "camera_up_mm")
    camera_sideways_mm: float = figure(SPREADS, "camera_sideways_mm")
    scale_length_mm: float = figure(SPREADS, "scale_length_mm")
    focal_percent: float = 0.0
    camera_distance_mm: float = 0.0
    centre_of_rotation_mm: float = 0.0
    face_form_deg: float = 0.0
    in_front_of_lens_plane_mm: float = 0.0
    lens_in_rim_mm: float = 0.0


def with_usual(given: Spreads | None) -> UsualSpreads:
    """The usual spreads, with those given in their place; the sign of a spread has no meaning and is dropped."""
    if given is None:
        return UsualSpreads()
    stated = {name: abs(value) for name, value in given.model_dump(exclude={"extra"}).items() if value is not None}
    return UsualSpreads(**stated)
