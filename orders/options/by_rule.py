"""Which kinds of change can clear which rule, smallest change first; a rule not listed has no computed remedy.

Missing and mistyped facts are not listed: only the right figure clears them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from orders.documents.lens_order import FramePart
from orders.documents.order_report import FindingPart
from orders.options import frame_proposals, lens_proposals, other_proposals, power_proposals, treatment_choice
from orders.options.remedy import Proposal
from orders.rules.case import Case, EyeCase

Proposer = Callable[[Case, EyeCase], Iterator[Proposal]]

blank, corridor, design = lens_proposals.blanks, lens_proposals.corridors, lens_proposals.designs
material, curve, thickness = lens_proposals.materials, lens_proposals.base_curves, lens_proposals.thicknesses
fellow = lens_proposals.fellow_lens
leave_out, exchange, add = treatment_choice.left_out, treatment_choice.exchanged, treatment_choice.added
lower, higher = frame_proposals.sits_lower, frame_proposals.sits_higher

PROPOSERS: dict[str, tuple[Proposer, ...]] = {
    "vertex-effect": (power_proposals.carried,),
    "ordered-power": (power_proposals.worked_out, power_proposals.as_prescribed),
    "compensated-twice": (power_proposals.as_prescribed, design),
    "use-and-design": (power_proposals.uses,),
    "blank-size": (blank, design),
    "minimum-height": (corridor, design, lower),
    "corridor-fits": (corridor, design, lower),
    "reading-area-cut": (corridor, design, lower),
    "clearance-above": (design, higher),
    "frame-depth": (),
    "decentration": (),
    "pupil-in-frame": (),
    "bifocal-height": (lower, higher),
    "trifocal-height": (design, lower),
    "office-lens": (design,),
    "optical-centre-drop": (frame_proposals.lowered_for_tilt,),
    "index-for-power": (material,),
    "edge-thick": (material, design),
    "edge-minimum": (thickness,),
    "centre-minimum": (thickness,),
    "drill-material": (material, design),
    "impact-need": (material, design),
    "low-abbe": (material,),
    "glass": (material, design),
    "pair-match": (fellow,),
    "progressive-pair": (fellow,),
    "tint-pair": (fellow,),
    "polarised-pair": (fellow, leave_out),
    "base-curve-match": (curve,),
    "wrap-base": (curve, design),
    "curve-matches-frame": (curve, design),
    "wrap-range": (),
    "wrap-compensation": (design,),
    "as-worn-set": (design,),
    "prism-in-progressive": (design,),
    "prism-size": (other_proposals.shared_prism,),
    "prism-split": (other_proposals.shared_prism,),
    "inset-for-power": (design,),
    "night-driving": (exchange, leave_out),
    "category-four": (exchange, leave_out),
    "traffic-signals": (exchange, leave_out),
    "photochromic-driving": (leave_out,),
    "tint-for-its-use": (exchange, leave_out),
    "treatments-together": (exchange, leave_out),
    "sun-lens-reflections": (add,),
    "reflections-of-high-index": (add,),
    "coating-base": (add, leave_out, material),
    "gradient-depth": (),
    "near-pd": (other_proposals.near_pds,),
    "frame-route": (other_proposals.routes,),
    "promise-date": (other_proposals.later_days,),
}
BY_FIELD: dict[str, tuple[Proposer, ...]] = {
    "design": (fellow,),
    "treatments": (exchange, leave_out, material),
    "material": (material, design),
    "corridor_mm": (corridor, design),
    "blank_mm": (blank, design),
    "sphere": (design,),
    "cylinder": (design,),
    "add": (design,),
    "prism": (design, other_proposals.shared_prism),
}
"""For `in-range`, whose remedy depends on what is out of range."""

WITH_ANOTHER_FRAME = frozenset(
    {
        "blank-size",
        "minimum-height",
        "corridor-fits",
        "reading-area-cut",
        "clearance-above",
        "frame-depth",
        "decentration",
        "pupil-in-frame",
        "trifocal-height",
        "edge-thick",
        "wrap-range",
        "gradient-depth",
    }
)


def has_way_out(finding: FindingPart) -> bool:
    """Whether anything at all could be proposed for the finding."""
    return bool(_proposers(finding)) or finding.rule in WITH_ANOTHER_FRAME


def proposals(case: Case, finding: FindingPart, frames: Sequence[FramePart]) -> Iterator[Proposal]:
    """Every change that might clear the finding, not yet verified."""
    for eye in _eyes(case, finding)[:1]:
        for proposer in _proposers(finding):
            yield from proposer(case, eye)
    if finding.rule in WITH_ANOTHER_FRAME:
        yield from frame_proposals.stock_frames(case, frames)


def _proposers(finding: FindingPart) -> tuple[Proposer, ...]:
    if finding.rule == "in-range":
        return BY_FIELD.get((finding.field or "").rsplit(".", 1)[-1], ())
    return PROPOSERS.get(finding.rule, ())


def _eyes(case: Case, finding: FindingPart) -> tuple[EyeCase, ...]:
    named = tuple(eye for eye in case.eyes if eye.eye == finding.eye)
    return named or case.eyes
