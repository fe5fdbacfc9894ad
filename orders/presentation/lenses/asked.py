"""What a person asks the comparison to show: order, filters, page and pinned lenses, all of it in the address.

An address says nothing about a patient. What it names and nobody offers is left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any
from urllib.parse import urlencode

from django.http import QueryDict

SORTS: Mapping[str, str] = {
    "check": "What the check says",
    "centre": "Centre",
    "thickest": "Thickest",
    "weight": "Weight",
    "blank": "Blank",
    "promise": "Promise",
    "price": "Price",
}
FIGURE_OF: Mapping[str, str] = {"check": "verdict"}
"""The figure that the ranking knows by another name."""

FILTERS: Mapping[str, str] = {
    "clear": "Nothing against it",
    "impact-resistant": "Impact-resistant",
    "drillable": "Drillable",
}
MOST_PINNED = 4
FIRST = "check"


@dataclass(frozen=True)
class LensesAsked:
    """sort: a key of SORTS. only: keys of FILTERS, all of which must hold. index: any of these, as written.

    pins: keys of lenses.
    """

    sort: str = FIRST
    reverse: bool = False
    only: tuple[str, ...] = ()
    this_lab: bool = False
    index: tuple[str, ...] = ()
    pins: tuple[str, ...] = ()
    page: int = 1

    @classmethod
    def of(cls, query: QueryDict) -> LensesAsked:
        sort, page = query.get("sort", ""), query.get("page", "")
        return cls(
            sort=sort if sort in SORTS else FIRST,
            reverse=query.get("reverse") == "yes",
            only=tuple(name for name in FILTERS if name in query.getlist("only")),
            this_lab=query.get("lab") == "this",
            index=tuple(dict.fromkeys(query.getlist("index"))),
            pins=tuple(dict.fromkeys(query.getlist("pin")))[:MOST_PINNED],
            page=int(page) if page.isascii() and page.isdigit() and 0 < len(page) < 6 else 1,
        )

    @property
    def figure(self) -> str:
        """What the ranking is to put the lenses in order of."""
        return FIGURE_OF.get(self.sort, self.sort)

    def sorted_by(self, sort: str) -> LensesAsked:
        """The same by another figure, or the other way round by the same one."""
        return replace(self, sort=sort, reverse=sort == self.sort and not self.reverse, page=1)

    def toggled(self, name: str, value: str) -> LensesAsked:
        """With the value among those of a field, or without it if it is there."""
        now: tuple[str, ...] = getattr(self, name)
        then = tuple(one for one in now if one != value) if value in now else (*now, value)
        changes: dict[str, Any] = {name: then}
        return replace(self, page=self.page if name == "pins" else 1, **changes)

    def with_lab(self, this_lab: bool) -> LensesAsked:
        return replace(self, this_lab=this_lab, page=1)

    def on_page(self, page: int) -> LensesAsked:
        return replace(self, page=page)

    @property
    def is_narrowed(self) -> bool:
        return bool(self.only or self.index or self.this_lab)

    def whole(self) -> LensesAsked:
        """Without any filter."""
        return replace(self, only=(), index=(), this_lab=False, page=1)

    @property
    def address(self) -> str:
        """The query of this page's address; what is as at first is left out."""
        written = [
            ("sort", "" if self.sort == FIRST else self.sort),
            ("reverse", "yes" if self.reverse else ""),
            ("only", self.only),
            ("lab", "this" if self.this_lab else ""),
            ("index", self.index),
            ("pin", self.pins),
            ("page", self.page if self.page > 1 else ""),
        ]
        assert len(written) == len(fields(self))
        return "?" + urlencode([(name, value) for name, value in written if value], doseq=True)
