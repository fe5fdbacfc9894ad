"""Which answered findings a lab is told: those about what it makes, over which it would otherwise telephone. Pure.

What the practice asked itself about dates, law, sight, driving, earlier pairs and its own measuring stays with it: the
lab can do nothing about it, and some of it is private. Which rules are which is our choice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from orders.documents.order_report import FindingPart

FOR_THE_LAB = frozenset(
    {
        # powers, adds and prisms that look like slips
        "add-range",
        "adds-unequal",
        "cylinder-axis-pair",
        "decimal-slip",
        "intermediate-add",
        "nothing-to-correct",
        "ordered-power",
        "power-step-and-range",
        "prism-in-progressive",
        "prism-sense",
        "prism-size",
        "prism-split",
        "sign-change",
        "vertex-effect",
        # centring and how the lens sits
        "bifocal-height",
        "clearance-above",
        "corridor-fits",
        "face-form-band",
        "height-inside-frame",
        "height-needed",
        "heights-differ",
        "inset-for-power",
        "minimum-height",
        "near-pd",
        "optical-centre-drop",
        "pantoscopic-band",
        "pd-asymmetry",
        "pd-range",
        "pupil-in-frame",
        "reading-area-cut",
        "trifocal-height",
        "use-and-design",
        "vertex-band",
        # frame, blank and body of the lens
        "balance-stated",
        "base-curve-for-power",
        "base-curve-match",
        "blank-size",
        "box-complete",
        "box-sane",
        "centre-minimum",
        "curve-matches-frame",
        "decentration",
        "drill-material",
        "edge-minimum",
        "edge-thick",
        "frame-depth",
        "frame-route",
        "impact-need",
        "index-for-power",
        "own-frame",
        "pair-match",
        "plus-to-shape",
        "safety-job",
        "shape-agrees",
        "wrap-base",
        "wrap-range",
        # what the lab offers, and by when
        "coating-base",
        "gradient-depth",
        "in-range",
        "polarised-pair",
        "promise-date",
        "tint-pair",
        "tint-stated",
        "treatments-together",
    }
)


def for_the_lab(findings: Iterable[FindingPart]) -> Iterator[FindingPart]:
    """The findings that somebody answered and the lab needs to know of."""
    return (part for part in findings if part.confirmed_by and part.rule in FOR_THE_LAB)
