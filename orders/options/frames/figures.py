"""The figures by which frames are compared, of the worse eye; None where they are not known. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from dispensing.trade import figure
from orders.options.frames.comparison import FrameRow
from orders.options.lenses import ranking
from orders.options.lenses.ranking import TENTH, Ranked, in_order
from orders.rules.case import EyeCase
from orders.rules.families.progressive_fit import least_height_mm

ABOUT_AS_WIDE_MM = figure("front-width", "alike_mm")

Figure = Callable[[FrameRow], float | None]


def decentration_mm(row: FrameRow) -> float | None:
    """(A + DBL)/2 − PD of the eye that has the more of it, mm, inwards +."""
    values = _known(row, lambda eye: eye.figures.decentration_in_mm)
    return max(values, key=abs) if values else None


def blank_needed_mm(row: FrameRow) -> float | None:
    """The larger blank that is needed, mm."""
    values = _known(row, lambda eye: eye.figures.blank_needed_mm)
    return max(values) if values else None


def spare_height_mm(row: FrameRow) -> float | None:
    """What the lower height has beyond the least that the design needs, mm; None for a design that states none."""

    def of_eye(eye: EyeCase) -> float | None:
        height, least = eye.fitted.height_mm, least_height_mm(eye)
        return None if height is None or least is None else height - least

    values = _known(row, of_eye)
    return min(values) if values else None


def clearance_above_mm(row: FrameRow) -> float | None:
    """The lesser room above the fitting cross, mm; None for a lens without one."""
    values = _known(row, lambda eye: eye.figures.clearance_above_mm)
    return min(values) if values else None


def front_width_mm(row: FrameRow) -> float | None:
    """From the temporal side of one lens to that of the other, 2 A + DBL, mm."""
    a, dbl = row.frame.a_mm, row.frame.dbl_mm
    return None if a is None or dbl is None else 2.0 * a + dbl


def _known(row: FrameRow, of_eye: Callable[[EyeCase], float | None]) -> list[float]:
    """The figure of every eye that has a lens; empty unless it is known of all."""
    values = [of_eye(eye) for eye in row.case.eyes]
    known = [value for value in values if value is not None]
    return known if len(known) == len(values) else []


def _as_shown(of_row: Figure) -> Figure:
    def shown(row: FrameRow) -> float | None:
        value = of_row(row)
        return None if value is None else round(value, TENTH)

    return shown


def _off_centre(row: FrameRow) -> float | None:
    value = decentration_mm(row)
    return None if value is None else round(abs(value), TENTH)


FIGURES: Mapping[str, Figure] = {
    "verdict": ranking.verdict,
    "thickest": ranking.thickest,
    "weight": ranking.weight,
    "blank": _as_shown(blank_needed_mm),
    "decentration": _off_centre,
    "height": _as_shown(spare_height_mm),
    "width": _as_shown(front_width_mm),
}
"""What frames can be put in order of; the least first, for the verdict the best."""


def ranked(rows: Sequence[FrameRow], by: str, *, greatest_first: bool = False) -> tuple[Ranked[FrameRow], ...]:
    """The rows in order of a figure in FIGURES; what is not known comes last and never counts as zero."""
    return in_order(rows, [FIGURES[by](row) for row in rows], greatest_first=greatest_first)


def best_first(rows: Sequence[FrameRow], *, worn_width_mm: float | None = None) -> list[FrameRow]:
    """By what the check says; of those alike by the thickest edge, and then by how far the eyes lie off the middle.

    worn_width_mm: of the front worn last. Fronts of another width come after those about as wide, the farther off the
    later: the smallest frame has the thinnest edge, whoever's head it is for.
    """
    for name in ("decentration", "thickest"):
        rows = [one.row for one in ranked(rows, name)]
    if worn_width_mm is not None:
        rows = [one.row for one in in_order(rows, [_another_width(row, worn_width_mm) for row in rows])]
    return [one.row for one in ranked(rows, "verdict")]


def _another_width(row: FrameRow, worn_width_mm: float) -> float | None:
    """By how many mm the front differs from the one worn beyond what makes no difference; None if not known."""
    width = front_width_mm(row)
    return None if width is None else max(0.0, round(abs(width - worn_width_mm) - ABOUT_AS_WIDE_MM, TENTH))
