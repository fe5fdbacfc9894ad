"""What people read in place of a document's codes: words for choices, names for lenses, materials and treatments.

The words for every list of codes are here, or with the dispensing record if that shares the list. Pages, paper,
findings and the API use them. This module must never know a rule, a row or a page.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from dispensing.choice_words import DESIGN_KINDS, FRAME_MATERIALS, MOUNTS, USES
from orders.documents.lens_catalogue import DesignKind
from orders.documents.lens_order import FrameSource, Instruction, KeptLens, OrderedLens, PowerBasis, Purpose, Supply
from orders.documents.order_report import PdBy, PowerBy

PURPOSES: Final[dict[Purpose, str]] = {"new": "new spectacles", "remake": "remake"}
SUPPLIES: Final[dict[Supply, str]] = {
    "uncut": "uncut lenses",
    "edged": "edged to the shape",
    "fitted": "edged and fitted in the frame",
}
FRAME_SOURCES: Final[dict[FrameSource, str]] = {
    "lab_supplies": "the lab supplies it",
    "enclosed": "enclosed with this order",
    "to_follow": "to follow",
    "own": "patient's own, enclosed",
    "trace_only": "stays at the practice: shape only",
}
PRIORITIES: Final = {"": "as usual", "urgent": "urgent"}
"""How soon a lab is asked to begin, beside the day by which the pair is needed."""
INSTRUCTIONS: Final[dict[Instruction, str]] = {
    "balance": "balance lens",
    "occluder": "occluder",
    "frosted": "frosted lens",
}
POWER_BASES: Final[dict[PowerBasis, str]] = {
    "as_prescribed": "as prescribed",
    "carried_to_vertex": "carried to the vertex distance as worn",
    "as_worn": "compensated for the position of wear",
}
POWER_BY: Final[dict[PowerBy, str]] = {
    "order": "as stated",
    "prescription": "as prescribed",
    "near": "with the add",
    "intermediate": "with the intermediate add",
    "half_the_add": "with half of the add",
}
PD_BY: Final[dict[PdBy, str]] = {
    "far": "far",
    "near_measured": "near",
    "near_computed": "near, worked out",
    "half_the_binocular": "half of the binocular",
}
EDGES: Final[dict[bool | None, str]] = {True: "polished", False: "not polished", None: ""}
HEIGHT_POINTS: Final[dict[DesignKind, str]] = {
    "single_vision": "optical centre",
    "bifocal": "segment top",
    "trifocal": "segment top",
    "progressive": "fitting cross",
    "office": "fitting cross",
}
"""Which part of a lens lies at the fitting height."""

__all__ = [
    "DESIGN_KINDS",
    "EDGES",
    "FRAME_MATERIALS",
    "FRAME_SOURCES",
    "HEIGHT_POINTS",
    "INSTRUCTIONS",
    "MOUNTS",
    "PD_BY",
    "POWER_BASES",
    "POWER_BY",
    "PRIORITIES",
    "PURPOSES",
    "SUPPLIES",
    "USES",
    "LensNames",
    "edge_words",
    "lens_names",
]


@dataclass(frozen=True)
class LensNames:
    """The names of a lens and its parts; a code is used only where no catalogue has a name for it."""

    design: str | None
    material: str | None
    treatments: tuple[str, ...]


def lens_names(lens: OrderedLens | KeptLens) -> LensNames:
    """The names that the document itself carries beside the codes of a lens, under ``extra``."""
    said = lens.extra or {}
    codes = lens.treatments or ()
    named = [name for name in said.get("treatment_names") or () if isinstance(name, str)]
    return LensNames(
        _text(said.get("design_name")) or lens.design,
        _text(said.get("material_name")) or lens.material,
        tuple(named) if len(named) == len(codes) else tuple(codes),
    )


def edge_words(polished: object, bevel: object) -> str:
    """``polished, mini bevel``; empty where both are left to the lab."""
    finish = EDGES[polished] if isinstance(polished, bool) else ""
    return ", ".join(text for text in (finish, (_text(bevel) or "").strip()) if text)


def _text(value: object) -> str | None:
    return value if isinstance(value, str) and value else None
