"""The traced lenses of `reference.json`, and the same lenses as the optics core sees them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dispensing.optics.power import SphereCylinder
from dispensing.optics.surface import forwarded, true_from_marked

_FILE = json.loads((Path(__file__).parent / "reference.json").read_text(encoding="utf-8"))
MADE_WITH: dict[str, Any] = _FILE["made_with"]


@dataclass(frozen=True)
class TracedLens:
    """One drawn lens: `drawn` as it was given to the tracer and what the rays did."""

    drawn: dict[str, Any]

    @property
    def front_d(self) -> float:
        return true_from_marked(self.drawn["front_curve_d"], self.drawn["index"])

    @property
    def power(self) -> SphereCylinder:
        """Its back vertex power by the thick-lens formula, from the radii."""
        thickness, index = self.drawn["thickness_mm"], self.drawn["index"]
        before = forwarded(self.front_d, thickness, index)
        along, across = (
            before - 1000.0 * (index - 1.0) / self.drawn[radius]
            for radius in ("back_radius_along_mm", "back_radius_across_mm")
        )
        return SphereCylinder(along, across - along, self.drawn["axis_deg"])

    @property
    def position(self) -> dict[str, Any]:
        """Eye, index and tilts, as the worn power takes them."""
        return {key: self.drawn[key] for key in ("eye", "index", "pantoscopic_deg", "face_form_deg")}

    @property
    def body(self) -> dict[str, Any]:
        """Base curve and thickness, as the worn power of a thick lens takes them."""
        return {"base_curve_d": self.drawn["front_curve_d"], "centre_thickness_mm": self.drawn["thickness_mm"]}

    def matrix(self, name: str) -> NDArray[np.float64]:
        """A traced power matrix, D."""
        xx, yy, xy = self.drawn[name]
        return np.array([[xx, xy], [xy, yy]])


LENSES = [TracedLens(drawn) for drawn in _FILE["lenses"]]
