"""``order-report/1``: what the check found in one order, and the figures it computed on the way.

Figures are not rounded here, only for display. A figure that depends on something missing is null.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from dispensing.documents import DocumentPart
from dispensing.trade.facts import Grade
from orders.documents.lens_order import PrismPart

FORMAT = "order-report/1"

Level = Literal["stop", "ask", "note"]
Verdict = Literal["stop", "ask", "note", "clear"]
FindingEye = Literal["right", "left", "both"]


class FindingPart(DocumentPart):
    """One finding. title: its rule in words. message: what was found and what to do about it, as one text.
    says, advice: those two separately; empty in a report from a program that does not give them separately.
    liftable: false for what the order lacks altogether, which no reason and nobody lifts; absent otherwise.
    """

    rule: str
    title: str = ""
    level: Level
    eye: FindingEye | None = None
    message: str
    says: str = ""
    advice: str = ""
    found: float | str | None = None
    limit: float | str | None = None
    unit: str | None = None
    remedies: tuple[str, ...] = ()
    source: str | None = None
    grade: Grade | None = None
    field: str | None = None
    liftable: bool | None = None
    confirmed_by: str | None = None
    reason: str | None = None


PowerBy = Literal["order", "prescription", "near", "intermediate", "half_the_add"]
PdBy = Literal["far", "near_measured", "near_computed", "half_the_binocular"]


class PowerToBeMade(DocumentPart):
    """The power at the reference point of the lens, in the order's own cylinder form; nothing is filled in.

    by: stated in the order, as prescribed, or the prescribed sphere with the near add, the intermediate add, or half
    the near add because no intermediate add is given.
    """

    sphere: float | None = None
    cylinder: float | None = None
    axis: float | None = None
    prism: tuple[PrismPart, ...] = ()
    by: PowerBy | None = None


class WornPower(DocumentPart):
    sphere: float
    cylinder: float
    axis: float


class EdgedLens(DocumentPart):
    """The edged lens as it will be made. thinnest_mm: the least thickness anywhere in it."""

    centre_thickness_mm: float
    thinnest_mm: float | None = None
    edge_min_mm: float
    edge_max_mm: float
    weight_g: float


class ComputedEye(DocumentPart):
    """Thickness, edge and weight are for the thinnest lens of this power and prism that the material's minima allow.

    power: the power to be made, from which everything below follows. pd_used_mm: the PD that the lens is centred by,
    for the distance that the pair is for, and pd_used_by where it comes from.
    base_curve_by: what the base curve comes from: the order, the catalogue's table, or Vogel's rule if that has none.
    centre_in_mm: from the boxed centre along the lens, which face form turns, to the line of sight of the use; the
    lens, its blank and its zones are placed by this, and decentration_in_mm leaves face form out.
    thinnest_mm: the least thickness anywhere inside the edged shape.
    as_worn_model: through the lens as made, or a thin one where its body is not known.
    as_made: the same figures with the ordered centre thickness; absent if none is ordered, or if such a lens cannot be
    worked out.
    """

    power: PowerToBeMade | None = None
    pd_used_mm: float | None = None
    pd_used_by: PdBy | None = None
    decentration_in_mm: float | None = None
    decentration_up_mm: float | None = None
    centre_in_mm: float | None = None
    blank_needed_mm: float | None = None
    blank_by_formula_mm: float | None = None
    near_pd_mm: float | None = None
    near_inset_mm: float | None = None
    base_curve_d: float | None = None
    base_curve_by: Literal["order", "catalogue", "vogel"] | None = None
    centre_thickness_mm: float | None = None
    thinnest_mm: float | None = None
    edge_min_mm: float | None = None
    edge_max_mm: float | None = None
    weight_g: float | None = None
    mean_sphere: float | None = None
    as_worn: WornPower | None = None
    as_worn_model: Literal["thick", "thin"] | None = None
    optical_centre_drop_mm: float | None = None
    as_made: EdgedLens | None = None

    def shown(self, key: str) -> float | None:
        """A figure for people to see: that of the lens as it will be made, if that is different."""
        made = self.as_made if key in EdgedLens.model_fields else None
        value: float | None = getattr(made or self, key)
        return value


class Computed(DocumentPart):
    right: ComputedEye = Field(default_factory=ComputedEye)
    left: ComputedEye = Field(default_factory=ComputedEye)
    vertical_imbalance_pd: float | None = None
    binocular_pd_mm: float | None = None
    frame_pd_mm: float | None = None


class OrderReport(DocumentPart):
    format: Literal["order-report/1"] = "order-report/1"
    number: str | None = None
    verdict: Verdict
    shape: Literal["given", "assumed"] | None = None
    findings: tuple[FindingPart, ...] = ()
    computed: Computed = Field(default_factory=Computed)
