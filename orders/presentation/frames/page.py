"""Everything that the page of frames shows, worked out once for a request."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from dispensing.models import Frame, Practice
from dispensing.trade import figure
from orders.forms.frames import SORTS, ListForm
from orders.options.frames.comparison import FrameRow
from orders.options.frames.figures import best_first, front_width_mm, ranked
from orders.options.lenses.found import found_with_all
from orders.options.lenses.ranking import in_order
from orders.presentation.documents import Headings
from orders.presentation.frames.rows import FrameShown, LensInFrame, largest
from orders.services.comparing_frames import FramesCompared

ON_A_PAGE = 20


@dataclass(frozen=True, eq=False)
class FramesPage:
    """present: the frame in the order now, or None. fitted: the frame of the fitting that PDs and heights are from."""

    compared: FramesCompared
    form: ListForm
    present: Frame | None
    fitted: Frame | None

    @cached_property
    def ordered(self) -> list[FrameRow]:
        """The rows of the first lens, each frame once whatever its colours, in the order asked for.

        What a figure cannot tell apart is best first.
        """
        compared = self.compared.lenses[0].rows if self.compared.lenses else ()
        rows = best_first(compared, worn_width_mm=self._worn_width)
        rows, sort = [row for row in rows if row.number in self._alike], self.form.asked_sort
        if sort == "best":
            return rows
        if sort == "width" and self._worn_width is not None:
            return [one.row for one in in_order(rows, [self._off_worn_width(row) for row in rows])]
        return [one.row for one in ranked(rows, sort, greatest_first=sort == "height")]

    @cached_property
    def _colours(self) -> dict[tuple[Any, ...], list[int]]:
        """The places in the list of frames that differ only in colour and stock number."""
        found: dict[tuple[Any, ...], list[int]] = {}
        for number, frame in enumerate(self.compared.frames):
            sizes = (frame.a_mm, frame.b_mm, frame.dbl_mm, frame.ed_mm, frame.front_curve_d)
            found.setdefault((frame.model, frame.mount, *sizes, tuple(frame.radii_mm or ())), []).append(number)
        return found

    @cached_property
    def _alike(self) -> dict[int, list[int]]:
        """The same by the first of them."""
        return {min(numbers): numbers for numbers in self._colours.values()}

    def _off_worn_width(self, row: FrameRow) -> float | None:
        width = front_width_mm(row)
        return None if width is None or self._worn_width is None else round(abs(width - self._worn_width), 1)

    @property
    def pages(self) -> int:
        return max(1, -(-len(self.ordered) // ON_A_PAGE))

    @property
    def page(self) -> int:
        return min(self.form.asked_page, self.pages)

    @cached_property
    def shown(self) -> list[FrameShown]:
        rows = self.ordered[(self.page - 1) * ON_A_PAGE : self.page * ON_A_PAGE]
        field = largest(rows)
        return [self._shown(row.number, field) for row in rows]

    def _shown(self, number: int, field: tuple[float, float]) -> FrameShown:
        headings = Headings.of(Practice.current())
        frames = [self.compared.frames[place] for place in self._alike[number]]
        lenses = [LensInFrame(lens, lens.rows[number], headings) for lens in self.compared.lenses]
        is_present = self.present is not None and self.present.pk in {frame.pk for frame in frames}
        return FrameShown(frames, lenses, field, self._worn_width, is_present)

    @cached_property
    def _worn_width(self) -> float | None:
        frame = self.fitted
        if frame is None or frame.a_mm is None or frame.dbl_mm is None:
            return None
        return 2.0 * float(frame.a_mm) + float(frame.dbl_mm)

    @property
    def suiting(self) -> int:
        """In how many frames the first lens can be made without being stopped."""
        return sum(row.can_be_made for row in self.ordered)

    @property
    def heights_words(self) -> str:
        """How the heights were assumed, in a sentence; empty if none was."""
        heights = [row.offer.heights for row in self.ordered]
        if not any(one.right is not None or one.left is not None for one in heights):
            return ""
        if heights[0].from_fitting:
            return (
                "Heights are assumed: each eye as far above the middle of the lens as it was measured "
                f"{f'in {self.fitted}' if self.fitted else 'in the frame of the order'}."
            )
        above, below = (figure("assumed-height", name) for name in ("cross_above_middle_mm", "segment_below_middle_mm"))
        return (
            f"Heights are assumed, since none was measured: a cross {above:g} mm above the middle of the lens, "
            f"a segment top {below:g} mm below it."
        )

    @property
    def in_common(self) -> list[str]:
        """What is asked or stopped whichever frame is taken, for any of the lenses."""
        told = [
            line
            for lens in self.compared.lenses
            for line in found_with_all(lens.rows, (one for one in lens.apart.common if one.level != "note"))
        ]
        return list(dict.fromkeys(told))

    def context(self) -> dict[str, Any]:
        return {
            "page": self,
            "form": self.form,
            "sorts": SORTS.items(),
            "sort": self.form.asked_sort,
            "several": len(self.compared.lenses) > 1,
        }
