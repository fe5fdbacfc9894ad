"""Everything that the page of the comparison shows, worked out once for a request."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from django.urls import reverse

from dispensing.models import Practice
from orders.documents.lens_order import LensOrder
from orders.models import Order
from orders.options.lenses.blanks import one_blank_each
from orders.options.lenses.comparison import LensRow, not_offered
from orders.options.lenses.found import found_with_all
from orders.options.lenses.present import key_of
from orders.options.lenses.ranking import Ranked, left_by, ranked
from orders.presentation.documents import Headings
from orders.presentation.lenses.asked import FILTERS, FIRST, MOST_PINNED, SORTS, LensesAsked
from orders.presentation.lenses.beside import Beside, beside
from orders.presentation.lenses.rows import LensShown, is_answered
from orders.services.comparing import Comparison, comparison_of

ON_A_PAGE = 25
"""Few enough to be on the screen at once: the lens of each row shown is worked out corner by corner."""


@dataclass(frozen=True)
class Toggle:
    """A filter with the number of lenses that it leaves. is_on: pressing it takes it away."""

    label: str
    count: int
    address: str
    is_on: bool


@dataclass(frozen=True)
class Column:
    """A heading that sorts. direction: as ARIA has it; empty if the list is in another order."""

    label: str
    address: str
    direction: str


@dataclass(frozen=True, eq=False)
class LensesPage:
    """The page for one draft, as asked for."""

    order: Order
    asked: LensesAsked
    headings: Headings
    comparison: Comparison

    @classmethod
    def of(cls, order: Order, asked: LensesAsked) -> LensesPage:
        """A pinned lens may be any lab's, so only without one is the own lab's catalogue enough."""
        compared = comparison_of(order, own_lab_only=asked.this_lab and not asked.pins)
        return cls(order, asked, Headings.of(Practice.current()), compared)

    @property
    def document(self) -> LensOrder:
        return self.comparison.judged.document

    @cached_property
    def all_rows(self) -> list[LensRow]:
        return one_blank_each(self.comparison.apart.rows)

    @cached_property
    def kept(self) -> list[Ranked[LensRow]]:
        """The lenses that the filters leave, in order. What the figure cannot tell apart is in order of the check, and
        what that cannot, of thickness.
        """
        rows = self._left_by(self.asked)
        for figure in ("thickest", "verdict"):
            rows = [one.row for one in ranked(rows, figure)]
        return list(ranked(rows, self.asked.figure, greatest_first=self.asked.reverse))

    @property
    def pages(self) -> int:
        return max(1, -(-len(self.kept) // ON_A_PAGE))

    @property
    def page(self) -> int:
        return min(self.asked.page, self.pages)

    @property
    def _on_this_page(self) -> list[Ranked[LensRow]]:
        start = (self.page - 1) * ON_A_PAGE
        return self.kept[start : start + ON_A_PAGE]

    @cached_property
    def shown(self) -> list[LensShown]:
        return [self._lens(one.row) for one in self._on_this_page]

    @cached_property
    def present(self) -> LensShown | None:
        now = self.comparison.present
        return self._lens(now) if now is not None else None

    @cached_property
    def pinned(self) -> list[Beside]:
        if not self.asked.pins:
            return []
        rows = {key_of(row.offer.choice, row.offer.catalogue.lab): row for row in self.comparison.apart.rows}
        if self.present is not None:
            rows.setdefault(self.present.key, self.present.row)
        found = [self._lens(rows[pin]) for pin in self.asked.pins if pin in rows]
        return beside(found, self.present)

    @property
    def toggles(self) -> list[Toggle]:
        asked, lab = self.asked, self.order.lab
        found = [
            self._toggle(label, asked.toggled("only", name), name in asked.only) for name, label in FILTERS.items()
        ]
        own = self.comparison.own
        if lab is not None and own is not None and (asked.this_lab or len(self.comparison.catalogues) > 1):
            found.append(self._toggle(f"Only {lab}", asked.with_lab(not asked.this_lab), asked.this_lab))
        return found

    @property
    def indexes(self) -> list[Toggle]:
        """One for each index on offer; of several that are on, any will do."""
        asked = self.asked
        return [
            Toggle(
                index,
                len(self._left_by(replace(asked, index=(index,)))),
                asked.toggled("index", index).address,
                index in asked.index,
            )
            for index in sorted({_index(row) for row in self.all_rows})
        ]

    def _toggle(self, label: str, toggled: LensesAsked, is_on: bool) -> Toggle:
        count = len(self._left_by(self.asked if is_on else toggled))
        return Toggle(label, count, toggled.address, is_on)

    @property
    def columns(self) -> dict[str, Column]:
        asked = self.asked
        way = "descending" if asked.reverse else "ascending"
        return {
            name: Column(label, asked.sorted_by(name).address, way if name == asked.sort else "")
            for name, label in SORTS.items()
        }

    @property
    def in_common(self) -> dict[str, list[str]]:
        """What the check finds whichever lens is taken, by level, in its words."""
        lifted = self.comparison.judged.document_for_any_lens.lifted or ()
        left = [one for one in self.comparison.apart.common if not is_answered(one, lifted)]
        rows = self.comparison.apart.rows
        return {
            level: list(found_with_all(rows, (one for one in left if one.level == level))) for level in ("stop", "ask")
        }

    @cached_property
    def unknown_of_all(self) -> list[tuple[str, str]]:
        """What is not known of any lens on the page, and why: said once instead of in every row."""
        said = [_unknown(lens) for lens in self.shown]
        return [one for one in said[0] if all(one in other for other in said)] if said else []

    def unknown_of(self, lens: LensShown) -> list[tuple[str, str]]:
        return [one for one in _unknown(lens) if one not in self.unknown_of_all]

    @property
    def to_do(self) -> list[tuple[str, str]]:
        """What to choose first so that lenses can be compared, and where."""
        order, desk = self.order, reverse("order-page", args=[self.order.public_id])
        missing = []
        if order.prescription is None:
            missing.append(("Choose a prescription on the draft.", desk))
        if order.frame is None:
            missing.append(("Choose a fitting, and with it a frame, on the draft.", desk))
        elif self.document.frame.a_mm is None or self.document.frame.b_mm is None:
            missing.append(("Enter the sizes of the frame.", reverse("frame-page", args=[order.frame.public_id])))
        if order.frame is not None and order.fitting is None:
            missing.append(("Choose a fitting on the draft, or record one in this frame.", desk))
        return missing

    @property
    def not_offered(self) -> list[str]:
        return [said for catalogue in self.comparison.catalogues for said in not_offered(catalogue)]

    def context(self) -> dict[str, Any]:
        asked = self.asked
        return {
            "order": self.order,
            "page": self,
            "rows": [
                {**self._in_the_list(lens), "tied": self._tie(one)}
                for lens, one in zip(self.shown, self._on_this_page, strict=True)
            ],
            "present": self._in_the_list(self.present) if self.present else None,
            "pinned": [(one, asked.toggled("pins", one.lens.key).address) for one in self.pinned],
            "most_pinned": MOST_PINNED,
            "without_filters": asked.whole().address,
            "before": asked.on_page(self.page - 1).address if self.page > 1 else "",
            "after": asked.on_page(self.page + 1).address if self.page < self.pages else "",
        }

    def _tie(self, one: Ranked[LensRow]) -> str:
        """The figure's column for a lens that others share the place of; verdicts are few, and all are shared."""
        return self.asked.sort if one.is_tied and self.asked.sort != FIRST else ""

    def _in_the_list(self, lens: LensShown) -> dict[str, Any]:
        pinned = lens.key in self.asked.pins
        may_pin = pinned or len(self.asked.pins) < MOST_PINNED
        return {
            "lens": lens,
            "is_present": self.present is not None and lens.key == self.present.key,
            "is_pinned": pinned,
            "pin": self.asked.toggled("pins", lens.key).address if may_pin else "",
            "unknown": self.unknown_of(lens),
        }

    def _lens(self, row: LensRow) -> LensShown:
        return LensShown(row, self.headings, self.comparison.own, names_lab=len(self.comparison.catalogues) > 1)

    def _left_by(self, asked: LensesAsked) -> list[LensRow]:
        own = self.comparison.own
        lab = own.lab if asked.this_lab and own is not None else None
        rows: Iterable[LensRow] = left_by(self.all_rows, [name.replace("-", "_") for name in asked.only], lab)
        return [row for row in rows if not asked.index or _index(row) in asked.index]


def _index(row: LensRow) -> str:
    return f"{row.offer.material.index:.2f}"


def _unknown(lens: LensShown) -> Sequence[tuple[str, str]]:
    return list(dict.fromkeys((one.figure, one.why) for one in lens.unknown))
