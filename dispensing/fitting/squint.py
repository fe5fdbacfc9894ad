"""A turned eye, told by where the camera's light is reflected in each pupil: named, and never averaged into both eyes.

The reflection of a light beside the camera's lens lies a little nasal of the pupil's middle in an eye that looks into
the camera. An eye that is turned shows it elsewhere: by 12° for each mm that the two eyes differ (see the facts of the
trade; J. Hirschberg, 1885). Which eye is turned is the one whose reflection lies further from its usual place. A PD or
height of a turned eye would be that of an eye that looks past the camera, so none is stated from such a photo; one on
which that eye looks into the camera, the other being covered, gives it. It works on propagated figures.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from dispensing.fitting.chain import COVERAGE_FACTOR, Propagated
from dispensing.fitting.documents import EYES, Eye
from dispensing.trade import figure

DEG_PER_MM = figure("corneal-reflection", "deg_per_mm")
LEAST_DEG = figure("corneal-reflection", "turned_least_deg")
USUAL_IN_MM = figure("corneal-reflection", "usual_in_mm")
SURE_SD = figure("corneal-reflection", "sure_sd")
"""An eye that is straight is named by chance in one photo out of twenty: two directions, 2.5 % each."""

OF_ONE_EYE = ("pd_mm", "near_pd_mm", "height_mm", "height_in_plane_mm")


@dataclass(frozen=True)
class TurnedEye:
    """``turn_deg``: by how much, without sign. ``towards``: in, out, up or down."""

    eye: Eye
    turn_deg: float
    plus_minus_deg: float
    towards: str

    @property
    def figures(self) -> frozenset[str]:
        """Those that such a photo does not give."""
        return frozenset((*(f"{self.eye}.{name}" for name in OF_ONE_EYE), "binocular_pd_mm"))

    def words(self) -> str:
        other = "left" if self.eye == "right" else "right"
        return (
            f"the {self.eye} eye is turned {self.towards} by about {self.turn_deg:.0f}° ± {self.plus_minus_deg:.0f}°, "
            f"so this photo gives no PD or height of it; cover the {other} eye and take another photo, or measure it "
            "by hand"
        )


def turned_eye(propagated: Propagated) -> TurnedEye | None:
    """The eye that is turned, if the reflections show one surely."""
    row = {name: index for index, name in enumerate(propagated.figures)}
    value = {name: float(propagated.values[index]) for name, index in row.items() if "reflection" in name}
    found = []
    for name, ways in (("reflections_across_mm", ("out", "in")), ("reflections_up_mm", ("down", "up"))):
        if name not in value or not np.isfinite(value[name]):
            return None
        found.append((DEG_PER_MM * value[name], DEG_PER_MM * float(propagated.sd[row[name]]), ways))
    turn, sd, ways = max(found, key=lambda one: abs(one[0]) - SURE_SD * one[1])
    if abs(turn) <= max(LEAST_DEG, SURE_SD * sd):
        return None
    eye = _further_from_usual(value)
    # + is how much further nasal, or up, the reflection lies in the right eye: an eye turns away from its reflection.
    sign = turn if eye == "right" else -turn
    return TurnedEye(eye, abs(turn), COVERAGE_FACTOR * sd, ways[0] if sign > 0 else ways[1])


def _further_from_usual(value: Mapping[str, float]) -> Eye:
    def off(eye: Eye) -> float:
        return float(np.hypot(value[f"{eye}.reflection_in_mm"] - USUAL_IN_MM, value[f"{eye}.reflection_up_mm"]))

    return max(EYES, key=off)
