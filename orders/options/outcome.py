"""What a change does to the figure in question: the edge in another material, the blank for another frame."""

from __future__ import annotations

from orders.documents.order_report import Computed, FindingPart, OrderReport
from orders.rules import words

FIGURES = {
    "edge-thick": ("edge_max_mm", "edge up to"),
    "index-for-power": ("edge_max_mm", "edge up to"),
    "low-abbe": ("edge_max_mm", "edge up to"),
    "blank-size": ("blank_needed_mm", "blank needed"),
    "decentration": ("decentration_in_mm", "decentration"),
}


def outcome(finding: FindingPart, before: OrderReport, after: OrderReport) -> str:
    """``edge up to 4.1 mm, now 6.3 mm``; empty if the rule has no such figure or it stays the same."""
    key, name = FIGURES.get(finding.rule, ("", ""))
    if not key:
        return ""
    now, then = (_worst(report.computed, finding.eye, key) for report in (before, after))
    if now is None or then is None or abs(now - then) < 0.05:
        return ""
    return f"{name} {words.mm(round(then, 1))}, now {words.mm(round(now, 1))}"


def _worst(computed: Computed, eye: str | None, key: str) -> float | None:
    sides = {"right": computed.right, "left": computed.left}
    values = [side.shown(key) for name, side in sides.items() if eye in (name, "both", None)]
    return max((value for value in values if value is not None), default=None)
