"""One frame of the comparison in words and figures, with each lens it was compared for. It decides nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from django.utils.safestring import SafeString, mark_safe

from dispensing.models import Frame
from orders.documents.key_words import DASH
from orders.documents.order_report import FindingPart, Verdict
from orders.documents.said_once import Said, said_once
from orders.drawings.fronts import front_drawing
from orders.options.frames import figures
from orders.options.frames.comparison import FrameRow
from orders.options.lenses.meaning import thickest
from orders.presentation.documents import Headings
from orders.presentation.lenses.rows import is_answered
from orders.rules import check
from orders.services.comparing_frames import FramesForLens

NO_BREAK = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, eq=False)
class LensInFrame:
    """One lens in the frame. lens: with every frame it was compared in."""

    lens: FramesForLens
    row: FrameRow
    headings: Headings

    @property
    def name(self) -> str:
        return self.lens.name

    @property
    def level(self) -> Verdict:
        return self.row.verdict

    @property
    def says(self) -> str:
        """``Suits``, ``2 to confirm`` or ``Does not suit``."""
        if self.level == "stop":
            return "Does not suit"
        return f"{len(self._open)} to confirm" if self.level == "ask" else "Suits"

    @property
    def _open(self) -> list[tuple[str, str | None]]:
        lifted = self.row.table.order.lifted or ()
        return [
            (one.rule, one.eye) for one in self.row.findings if one.level != "note" and not is_answered(one, lifted)
        ]

    @cached_property
    def against(self) -> list[Said]:
        """What speaks against this frame and not against every other, in the check's own words."""
        asked, wanted = self.lens.asked, set(self._open)
        assert asked.catalogue is not None
        report = check(self.row.order, asked.catalogue, asked.others, asked.limits)
        parts: list[FindingPart] = [part for part in report.findings if (part.rule, part.eye) in wanted]
        return said_once(parts) if parts else []

    @cached_property
    def _thickest(self) -> tuple[str, str]:
        place = thickest(self.row)
        return (
            (DASH, "") if place is None else (_mm(place.mm), f"{place.where},{NO_BREAK}{self.headings.eye(place.eye)}")
        )

    @property
    def thickest(self) -> str:
        return self._thickest[0]

    @property
    def where(self) -> str:
        return self._thickest[1]

    @property
    def weight(self) -> str:
        weight = self.row.weight_pair_g
        return DASH if weight is None else f"{weight:.1f} g"

    @property
    def blank(self) -> str:
        return _mm(figures.blank_needed_mm(self.row))

    @property
    def off_centre(self) -> str:
        """``3.5 mm in``."""
        value = figures.decentration_mm(self.row)
        if value is None:
            return DASH
        shown = round(abs(value), 1) + 0.0
        return f"{shown:.1f} mm" + ("" if shown == 0.0 else f" {'in' if value > 0.0 else 'out'}")

    @property
    def height(self) -> str:
        """The heights assumed, as ``21.0 / 21.5 mm``; once if they are alike."""
        heights = [eye.fitted.height_mm for eye in self.row.case.eyes]
        known = list(dict.fromkeys(f"{height:.1f}" for height in heights if height is not None))
        return f"{' / '.join(known)} mm" if known else DASH

    @property
    def room(self) -> list[str]:
        """What is left of the height, in words; empty for a lens that asks for none."""
        spare, above = figures.spare_height_mm(self.row), figures.clearance_above_mm(self.row)
        said = []
        if spare is not None:
            said.append(f"{_mm(abs(spare))} {'to spare' if spare >= 0.0 else 'too low'}")
        return [*said, *([f"{_mm(above)} above the cross"] if above is not None else [])]

    @property
    def unknown(self) -> list[tuple[str, str]]:
        return list(dict.fromkeys((one.figure, one.why) for one in self.row.unknown))


@dataclass(frozen=True, eq=False)
class FrameShown:
    """frames: the same frame in each of its colours. field: width and height in mm of the largest front on the page.
    worn_width_mm: of the frame measured last.
    """

    frames: list[Frame]
    lenses: list[LensInFrame]
    field: tuple[float, float]
    worn_width_mm: float | None
    is_present: bool

    @property
    def frame(self) -> Frame:
        return self.frames[0]

    @cached_property
    def drawing(self) -> SafeString:
        drawn = front_drawing(self.lenses[0].row.order, wide_mm=self.field[0], high_mm=self.field[1])
        return mark_safe(drawn)  # noqa: S308 - built by our picture writer, which escapes every text

    @property
    def width(self) -> str:
        return _mm(figures.front_width_mm(self.lenses[0].row))

    @property
    def against_worn(self) -> str:
        """``6 mm wider than the frame fitted last``; empty where either is not known."""
        width = figures.front_width_mm(self.lenses[0].row)
        if width is None or self.worn_width_mm is None or self.is_present:
            return ""
        apart = round(width - self.worn_width_mm)
        if apart == 0:
            return "as wide as the frame fitted last"
        return f"{abs(apart)} mm {'wider' if apart > 0 else 'narrower'} than the frame fitted last"


def largest(rows: list[FrameRow]) -> tuple[float, float]:
    """Width and height in mm of a field in which each of these fronts has room."""
    widths = _values(rows, figures.front_width_mm)
    heights = _values(rows, lambda row: row.frame.b_mm)
    return max(widths, default=0.0), max(heights, default=0.0)


def _values(rows: list[FrameRow], of_row: Callable[[FrameRow], float | None]) -> list[float]:
    return [value for value in map(of_row, rows) if value is not None]


def _mm(value: float | None) -> str:
    return DASH if value is None else f"{round(value, 1) + 0.0:.1f} mm"
