"""What a tilted lens does to the eye, and what to order so that it does what was prescribed.

The model follows the line of sight through the reference point of the lens with the generalised Coddington equations,
for pantoscopic tilt and face form together and for any sphero-cylinder.  Its tests compare it with real rays and with
the handbook's formula (Martin).

The lens first tilts about its horizontal (pantoscopic), then turns about the vertical (face form); signs are those of
`conventions`.  With R that rotation, A the inverse of its upper left 2x2 block (a step across the line of sight
projected on to the lens), i the angle between line of sight and lens normal (cos i = cos pantoscopic x cos face form)
and n sin i' = sin i, a thin lens of power matrix F is felt as

    F_worn = k Aᵀ F A,      k = (n cos i' - cos i) / (n - 1).

With only one tilt this is Coddington's pair: k F across the tilt, k F / cos² i along it.  With a base curve and a
centre thickness the ray is traced through both surfaces (see `oblique_lens`).  Both are exact for their lens; the thin
one needs no lens body, and differs from the thick one by hundredths of a dioptre at ordinary tilts and thicknesses, by
tenths only in thick plus lenses under strong wrap.  Vertex distances, where both are given, are applied after the tilt:
the power felt is stated at the vertex distance of the test.

This module must never know what a wearer tolerates or what a lab compensates for.
"""

from __future__ import annotations

from dataclasses import dataclass

from dispensing.optics.conventions import Eye, require_eye
from dispensing.optics.errors import OpticsError, require_range
from dispensing.optics.oblique_lens import HIGHEST_INDEX, LOWEST_INDEX, STEEPEST_DEG, ThickObliqueLens, ThinObliqueLens
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism
from dispensing.optics.vertex import VERTEX_HIGH_MM, VERTEX_LOW_MM, at_vertex


@dataclass(frozen=True, slots=True)
class WornPosition:
    """How one lens sits before its eye.

    Angles in degrees, index without unit, vertex distances, thickness in mm; base_curve_d is the 1.530 tooling curve of
    the spherical front; prescribed prism in Δ by its base. Base curve and thickness go together (thick lens) or are
    both None (thin lens, for which prism makes no difference). Vertex distances go together or one is None (no vertex
    effect).
    """

    eye: Eye
    index: float
    pantoscopic_deg: float = 0.0
    face_form_deg: float = 0.0
    base_curve_d: float | None = None
    centre_thickness_mm: float | None = None
    tested_vertex_mm: float | None = None
    worn_vertex_mm: float | None = None
    prism_in_pd: float = 0.0
    prism_up_pd: float = 0.0

    def __post_init__(self) -> None:
        require_eye(self.eye)
        require_range("refractive index", self.index, "", LOWEST_INDEX, HIGHEST_INDEX)
        require_range("pantoscopic tilt", self.pantoscopic_deg, "deg", -STEEPEST_DEG, STEEPEST_DEG)
        require_range("face form", self.face_form_deg, "deg", -STEEPEST_DEG, STEEPEST_DEG)
        if (self.base_curve_d is None) != (self.centre_thickness_mm is None):
            raise OpticsError("lens body", "half given", "", "base curve and centre thickness together, or neither")
        self.lens()
        for name, vertex in (("of the test", self.tested_vertex_mm), ("as worn", self.worn_vertex_mm)):
            if vertex is not None:
                require_range(f"vertex distance {name}", vertex, "mm", VERTEX_LOW_MM, VERTEX_HIGH_MM)

    def lens(self) -> ThinObliqueLens | ThickObliqueLens:
        """The lens as the line of sight meets it."""
        if self.base_curve_d is None or self.centre_thickness_mm is None:
            return ThinObliqueLens(self.eye, self.pantoscopic_deg, self.face_form_deg, self.index)
        return ThickObliqueLens(
            self.eye,
            self.pantoscopic_deg,
            self.face_form_deg,
            self.index,
            self.base_curve_d,
            self.centre_thickness_mm,
            self.prism_in_pd,
            self.prism_up_pd,
        )


def worn_power(
    ordered: SphereCylinder,
    *,
    eye: Eye,
    index: float,
    pantoscopic_deg: float = 0.0,
    face_form_deg: float = 0.0,
    base_curve_d: float | None = None,
    centre_thickness_mm: float | None = None,
    tested_vertex_mm: float | None = None,
    worn_vertex_mm: float | None = None,
    prism_in_pd: float = 0.0,
    prism_up_pd: float = 0.0,
) -> SphereCylinder:
    """The power in D that is felt when `ordered` (back vertex power) sits before the eye as described.

    Exact oblique refraction through the reference point, minus-cylinder form.  Arguments and their units:
    see WornPosition.  The result is stated at the vertex distance of the test where both are given.
    Raises OpticsError for a value out of range.
    """
    position = WornPosition(
        eye,
        index,
        pantoscopic_deg,
        face_form_deg,
        base_curve_d,
        centre_thickness_mm,
        tested_vertex_mm,
        worn_vertex_mm,
        prism_in_pd,
        prism_up_pd,
    )
    felt = SphereCylinder.from_matrix(position.lens().felt(ordered.matrix()))
    if tested_vertex_mm is None or worn_vertex_mm is None:
        return felt
    return at_vertex(felt, worn_vertex_mm, tested_vertex_mm)


def power_to_order(
    prescribed: SphereCylinder,
    *,
    eye: Eye,
    index: float,
    pantoscopic_deg: float = 0.0,
    face_form_deg: float = 0.0,
    base_curve_d: float | None = None,
    centre_thickness_mm: float | None = None,
    tested_vertex_mm: float | None = None,
    worn_vertex_mm: float | None = None,
    prism_in_pd: float = 0.0,
    prism_up_pd: float = 0.0,
) -> SphereCylinder:
    """The back vertex power in D to order so that `prescribed` is felt; the exact inverse of worn_power."""
    position = WornPosition(
        eye,
        index,
        pantoscopic_deg,
        face_form_deg,
        base_curve_d,
        centre_thickness_mm,
        tested_vertex_mm,
        worn_vertex_mm,
        prism_in_pd,
        prism_up_pd,
    )
    needed = prescribed
    if tested_vertex_mm is not None and worn_vertex_mm is not None:
        needed = at_vertex(prescribed, tested_vertex_mm, worn_vertex_mm)
    return SphereCylinder.from_matrix(position.lens().ordered(needed.matrix()))


def tilt_prism(
    *,
    eye: Eye,
    index: float,
    base_curve_d: float,
    centre_thickness_mm: float,
    pantoscopic_deg: float = 0.0,
    face_form_deg: float = 0.0,
) -> Prism:
    """The prism in Δ a thick tilted lens gives at its reference point, by exact ray tracing.

    A plano lens has it too, and it is the same for every power on that front. The handbook's 100 (t/n) F1 sin(angle) is
    an estimate of it.
    """
    WornPosition(eye, index, pantoscopic_deg, face_form_deg, base_curve_d, centre_thickness_mm)
    return ThickObliqueLens(eye, pantoscopic_deg, face_form_deg, index, base_curve_d, centre_thickness_mm).prism()
