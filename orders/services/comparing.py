"""The lenses that a draft could be made with, of every lab that takes orders; it reads and never writes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from orders.documents.lens_catalogue import LensCatalogue
from orders.facts import catalogue_document, order_document
from orders.models import Catalogue, Lab, Order
from orders.options.lenses.comparison import LensRow, compare
from orders.options.lenses.in_common import Apart, apart
from orders.options.lenses.offers import Offer, offers, wanted_treatments
from orders.options.lenses.present import key_of, present_row
from orders.prices import own_prices
from orders.queries import catalogues_in_use
from orders.services.judging import Judgement, judge


@dataclass(frozen=True)
class Comparison:
    """present: the lens that the draft has now, if it has one. own: the catalogue it is drawn up from."""

    judged: Judgement
    catalogues: tuple[LensCatalogue, ...]
    apart: Apart[LensRow]
    present: LensRow | None

    @property
    def own(self) -> LensCatalogue | None:
        return self.judged.catalogue


def comparison_of(order: Order, *, own_lab_only: bool = False) -> Comparison:
    """Every lens on offer for the draft, judged as the desk would judge it.

    What was confirmed or lifted counts as far as it is not about the lens; for the present lens, all of it counts.
    """
    judged, in_use = judge(order), catalogues_in_use()
    here = _of_own_lab(order, in_use) if own_lab_only else in_use
    catalogues = tuple(map(catalogue_document, here))
    accounts = {catalogue.lab: row.lab.account or None for catalogue, row in zip(catalogues, here, strict=True)}
    others, limits = judged.asked.others, judged.asked.limits
    prices = own_prices()
    rows = compare(
        judged.document_for_any_lens,
        catalogues,
        others=others,
        practice_limits=limits,
        accounts=accounts,
        own_prices=prices,
    )
    own = judged.catalogue
    now = None
    if own is not None:
        now = present_row(judged.document, own, others=others, practice_limits=limits, own_prices=prices)
    told = apart(rows)
    return Comparison(judged, catalogues, told, told.of(now) if now is not None else None)


def lens_offered(order: Order, key: str) -> tuple[Lab, Offer] | None:
    """The lens of this key, and whose it is; None if nobody offers it for this draft."""
    document, in_use = order_document(order), catalogues_in_use()
    for rows in (in_use, _of_own_lab(order, in_use)):
        catalogues = list(map(catalogue_document, rows))
        wanted = wanted_treatments(document, catalogues)
        for row, catalogue in zip(rows, catalogues, strict=True):
            for offer in offers(catalogue, wanted):
                if key_of(offer.choice, catalogue.lab) == key:
                    return row.lab, offer
    return None


def _of_own_lab(order: Order, in_use: Sequence[Catalogue]) -> list[Catalogue]:
    return [row for row in in_use if row.lab_id == order.lab_id]
