"""A price list beside the one in use: what is new, gone and changed, and which rows price nothing on offer.

It reads and never writes.
"""

from __future__ import annotations

from dataclasses import dataclass

from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.price_list import OwnPrice
from orders.facts import catalogue_document
from orders.models import PriceList
from orders.prices import priced_by
from orders.queries import catalogues_in_use, price_list_in_use


@dataclass(frozen=True)
class PriceLook:
    """beside: the list in use. changed: the row as it was and as it is. pointless: rows that price nothing on offer."""

    prices: PriceList
    beside: PriceList | None
    rows: int
    gone: tuple[OwnPrice, ...]
    changed: tuple[tuple[OwnPrice, OwnPrice], ...]
    new: tuple[OwnPrice, ...]
    pointless: tuple[OwnPrice, ...]


def look_at_prices(prices: PriceList) -> PriceLook:
    """What a manager should know before this list is used, or put back."""
    in_use = price_list_in_use()
    beside = in_use if in_use is not None and in_use != prices else None
    now = {row.lens: row for row in priced_by(prices).rows}
    then = {row.lens: row for row in priced_by(beside).rows} if beside else {}
    both = [(then[lens], row) for lens, row in now.items() if lens in then]
    catalogues = list(map(catalogue_document, catalogues_in_use()))
    return PriceLook(
        prices=prices,
        beside=beside,
        rows=len(now),
        gone=tuple(row for lens, row in then.items() if lens not in now),
        changed=tuple((old, row) for old, row in both if (old.amount, old.currency) != (row.amount, row.currency)),
        new=tuple(row for lens, row in now.items() if beside is not None and lens not in then),
        pointless=tuple(row for row in now.values() if not any(_prices(row, one) for one in catalogues)),
    )


def _prices(row: OwnPrice, catalogue: LensCatalogue) -> bool:
    """Whether the catalogue has all that the row names."""
    if row.lab not in (None, catalogue.lab.casefold()):
        return False
    named = (
        (row.design, catalogue.designs),
        (row.material, catalogue.materials),
        (row.treatment, catalogue.treatments),
    )
    return all(
        word is None or any(word in (part.id.casefold(), part.name.casefold()) for part in parts)
        for word, parts in named
    )
