"""What the page of one catalogue shows: what it would change, by kind, and the drafts it touches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from orders.catalogues.differences import HOWS, Change
from orders.models import Catalogue
from orders.services.catalogue_looks import Look

HOW_HEADINGS = {"gone": "Gone", "changed": "Changed", "new": "New"}


@dataclass(frozen=True)
class Group:
    """Changes of one kind. count: how many; rows: those of each part together, by its name."""

    heading: str
    rows: tuple[tuple[str, tuple[Change, ...]], ...]
    count: int


@dataclass(frozen=True)
class CataloguePage:
    look: Look

    @property
    def catalogue(self) -> Catalogue:
        return self.look.catalogue

    @property
    def heading(self) -> str:
        issued = self.catalogue.issued_on
        return f"Catalogue of {issued.day} {issued:%B %Y}" if issued else "Catalogue without a date"

    @property
    def button(self) -> str:
        return "Put this catalogue back" if self.look.was_used else "Use this catalogue"

    @cached_property
    def groups(self) -> list[Group]:
        """Gone, changed and new, each only if there is any."""
        by_how = {how: [change for change in self.look.changes if change.how == how] for how in HOWS}
        return [_group(HOW_HEADINGS[how], changes) for how, changes in by_how.items() if changes]


def _group(heading: str, changes: Sequence[Change]) -> Group:
    by_name: dict[tuple[str, str], list[Change]] = {}
    for change in changes:
        by_name.setdefault((change.kind, change.name), []).append(change)
    rows = tuple((name, tuple(found)) for (_, name), found in by_name.items())
    return Group(heading, rows, len(changes))
