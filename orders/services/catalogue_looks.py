"""A catalogue beside the one in use: what differs, what is to be confirmed, and which drafts it touches.

It reads and never writes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from orders.catalogues.differences import Change, differences, touches
from orders.catalogues.doubts import Doubt
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.order_report import FindingPart
from orders.facts import catalogue_document
from orders.models import Catalogue, Order
from orders.queries import open_drafts_of
from orders.services.catalogues import open_doubts
from orders.services.judging import asked_of

MOST_JUDGED = 40
"""Drafts that are judged by both catalogues, the newest first; a page must not take minutes."""


@dataclass(frozen=True)
class TouchedDraft:
    """changes: what differs of its lenses. stops: what would stop it with the new catalogue and does not now."""

    order: Order
    changes: tuple[Change, ...]
    stops: tuple[FindingPart, ...]


@dataclass(frozen=True)
class Look:
    """beside: the catalogue that it would replace, or for the one in use, the one it replaced. drafts: how many are
    open with this lab. touched: those with a lens of which something changes; not_judged: how many more there are.
    """

    catalogue: Catalogue
    beside: Catalogue | None
    changes: tuple[Change, ...]
    doubts: tuple[Doubt, ...]
    drafts: int
    touched: tuple[TouchedDraft, ...]
    not_judged: int = 0

    @property
    def was_used(self) -> bool:
        return self.catalogue.used_at is not None

    @property
    def touched_count(self) -> int:
        return len(self.touched) + self.not_judged

    @property
    def stopped(self) -> int:
        """How many of the drafts would be stopped that are not stopped for the same reason now."""
        return sum(bool(draft.stops) for draft in self.touched)


def look_at(catalogue: Catalogue) -> Look:
    """What a manager should know before this catalogue is used, or put back."""
    beside = _beside(catalogue)
    document = catalogue_document(catalogue)
    changes = differences(document, catalogue_document(beside)) if beside else ()
    drafts = open_drafts_of(catalogue.lab)
    if catalogue.in_use:
        return Look(catalogue, beside, changes, (), len(drafts), ())
    touched = [(order, found) for order in drafts if (found := _touching(order, changes))]
    judged = tuple(_judged(order, found, document) for order, found in touched[:MOST_JUDGED])
    doubts, left = open_doubts(catalogue, beside), len(touched) - len(judged)
    return Look(catalogue, beside, changes, doubts, len(drafts), judged, left)


def _beside(catalogue: Catalogue) -> Catalogue | None:
    others = Catalogue.objects.filter(lab_id=catalogue.lab_id).exclude(pk=catalogue.pk)
    if catalogue.in_use:
        return others.filter(used_at__isnull=False).order_by("-used_at", "-pk").first()
    return others.filter(in_use=True).first()


def _touching(order: Order, changes: tuple[Change, ...]) -> tuple[Change, ...]:
    lenses = [lens for lens in (order.lenses or {}).values() if lens]
    return tuple(change for change in changes if any(touches(change, lens) for lens in lenses))


def _judged(order: Order, changes: tuple[Change, ...], document: LensCatalogue) -> TouchedDraft:
    asked = asked_of(order)
    now = {(part.rule, part.eye) for part in asked.check().findings if part.level == "stop"}
    then = replace(asked, catalogue=document).check()
    stops = [part for part in then.findings if part.level == "stop" and (part.rule, part.eye) not in now]
    return TouchedDraft(order, changes, tuple(stops))
