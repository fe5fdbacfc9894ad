"""The strip of figures on the desk: what decides about a pair, right and left, and which of it a finding is about.

Every figure comes from the report; nothing is worked out or judged here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from orders.documents.key_words import DASH
from orders.documents.lens_order import Eye, LensOrder
from orders.documents.order_report import ComputedEye, FindingPart, Level, OrderReport
from orders.documents.powers_side_by_side import EyePowers, OnePower
from orders.drawings.layout import EyeLayout, PairLayout
from orders.presentation.documents import Headings
from orders.presentation.powers import side_by_side, whole_power

HEADINGS = {
    "power": "Power to be made",
    "pd": "PD",
    "height": "Height",
    "blank": "Blank",
    "centre": "Centre",
    "thickest": "Thickest",
    "weight": "Weight",
    "worn": "As worn",
}
UNITS = {"pd": "mm", "height": "mm", "blank": "mm", "centre": "mm", "thickest": "mm", "weight": "g"}
OF_RULES = {"edge-thick": "thickest", "edge-minimum": "thickest", "blank-size": "blank", "centre-minimum": "centre"}
"""For rules whose finding names a choice and not the figure that it is about."""
OF_KEYS = {
    **dict.fromkeys(
        ("sphere", "cylinder", "axis", "add", "intermediate_add", "prism", "power", "power_basis"), "power"
    ),
    **dict.fromkeys(("pd_mm", "near_pd_mm", "binocular_pd_mm"), "pd"),
    "height_mm": "height",
    "blank_mm": "blank",
    "centre_thickness_mm": "centre",
    **dict.fromkeys(("vertex_mm", "pantoscopic_deg", "face_form_deg"), "worn"),
}
WORST_FIRST: tuple[Level, ...] = ("stop", "ask", "note")


@dataclass(frozen=True)
class Cell:
    """One figure of one lens. level: of the worst finding about it that nobody has answered, if there is one."""

    heading: str
    unit: str
    text: str
    beside: str = ""
    level: Level | None = None


@dataclass(frozen=True)
class StripRow:
    heading: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class AtAGlance:
    """The three figures of the pair that decide most: of the worse of its lenses, and the weight of both."""

    blank: str
    thickest: str
    weight: str


def strip_rows(
    document: LensOrder, report: OrderReport, layout: PairLayout | None, headings: Headings
) -> list[StripRow]:
    """One row for each lens ordered; empty for a report that does not say what is made."""
    marks = _marks(report.findings)
    rows = []
    for powers in side_by_side(document, report, headings):
        figures = _figures(document, report, layout, powers)
        cells = [_cell(name, *figures[name], _worst(marks, name, powers.eye)) for name in HEADINGS]
        rows.append(StripRow(headings.eye(powers.eye), tuple(cells)))
    return rows


def at_a_glance(report: OrderReport, layout: PairLayout | None) -> AtAGlance | None:
    """None while none of the three is known."""
    eyes = [report.computed.right, report.computed.left]
    weights = [weight for eye in eyes if (weight := eye.shown("weight_g")) is not None]
    thick = [mm for eye in eyes if (mm := _thickest_mm(eye)) is not None]
    blanks = [] if layout is None else [eye.fit for eye in layout.eyes if eye.fit is not None]
    if not (weights or thick or blanks):
        return None
    worst = max(blanks, key=lambda fit: fit.needed_mm - fit.blank.diameter_mm, default=None)
    return AtAGlance(
        blank=DASH if worst is None else f"{worst.needed_mm:.1f} of {worst.blank.diameter_mm:.0f} mm",
        thickest=f"{max(thick):.1f} mm" if thick else DASH,
        weight=f"{sum(weights):.1f} g" if weights else DASH,
    )


def _figures(
    document: LensOrder, report: OrderReport, layout: PairLayout | None, powers: EyePowers
) -> dict[str, tuple[str, str]]:
    """Each figure, and what is said beside it."""
    eye = powers.eye
    made = report.computed.right if eye == "right" else report.computed.left
    drawn = None if layout is None else layout.right if eye == "right" else layout.left
    thickest = None if drawn is None else drawn.thickest
    return {
        "power": _power(powers.ordered),
        "pd": (_one_place(powers.ordered.pd_mm), powers.ordered.pd_by),
        "height": (_one_place(document.fitting.eye(eye).height_mm), ""),
        "blank": _blank(made, drawn),
        "centre": (_one_place(made.shown("centre_thickness_mm")), ""),
        "thickest": (_one_place(_thickest_mm(made)), thickest.where if thickest is not None else ""),
        "weight": (_one_place(made.shown("weight_g")), ""),
        "worn": (whole_power(powers.worn), ""),
    }


def _power(ordered: OnePower) -> tuple[str, str]:
    """The power, and beside it add and prism."""
    first, *others = whole_power(ordered).split(", ")
    return first, ", ".join(others)


def _blank(made: ComputedEye, drawn: EyeLayout | None) -> tuple[str, str]:
    fit = None if drawn is None else drawn.fit
    return _one_place(made.blank_needed_mm), "" if fit is None else f"of {fit.blank.diameter_mm:.0f}"


def _thickest_mm(made: ComputedEye) -> float | None:
    known = (made.shown("edge_max_mm"), made.shown("centre_thickness_mm"))
    return max((mm for mm in known if mm is not None), default=None) if known[0] is not None else None


def _cell(name: str, text: str, beside: str, level: Level | None) -> Cell:
    return Cell(HEADINGS[name], UNITS.get(name, ""), text, beside if text != DASH else "", level)


def _marks(findings: Iterable[FindingPart]) -> Mapping[tuple[str, Eye], set[Level]]:
    found: dict[tuple[str, Eye], set[Level]] = {}
    for part in findings:
        name = OF_RULES.get(part.rule) or OF_KEYS.get((part.field or "").rpartition(".")[2])
        if name is None or part.confirmed_by is not None:
            continue
        eyes: tuple[Eye, ...] = (part.eye,) if part.eye in ("right", "left") else ("right", "left")
        for eye in eyes:
            found.setdefault((name, eye), set()).add(part.level)
    return found


def _worst(marks: Mapping[tuple[str, Eye], set[Level]], name: str, eye: Eye) -> Level | None:
    return next((level for level in WORST_FIRST if level in marks.get((name, eye), ())), None)


def _one_place(value: float | None) -> str:
    return DASH if value is None else f"{value + 0.0:.1f}"
