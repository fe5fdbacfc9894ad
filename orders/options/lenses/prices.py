"""What a lens costs by the catalogue's price rows: the row that says most about it. Pure."""

from __future__ import annotations

import math

from orders.documents.lens_catalogue import PriceRow
from orders.documents.lens_option import Price
from orders.options.lenses.offers import Offer

NO_PRICE = "The catalogue gives no price for it."
TWO_PRICES = "Two prices of the catalogue suit it equally well."


def price_of(offer: Offer) -> tuple[Price | None, str]:
    """The price, or None and why there is none. A row that names design, material and treatment outdoes one that names
    fewer of them.
    """
    rows = [row for row in offer.catalogue.prices if _is_priced(row) and _suits(row, offer)]
    most = max(map(_said, rows), default=0)
    prices = {(row.amount, row.currency) for row in rows if _said(row) == most}
    if len(prices) != 1:
        return None, TWO_PRICES if prices else NO_PRICE
    amount, currency = prices.pop()
    return Price(amount=amount or 0.0, currency=currency or ""), ""


def _is_priced(row: PriceRow) -> bool:
    return row.amount is not None and math.isfinite(row.amount) and row.amount >= 0.0 and bool(row.currency)


def _suits(row: PriceRow, offer: Offer) -> bool:
    return (
        row.design in (None, offer.design.id)
        and row.material in (None, offer.material.id)
        and (row.treatment is None or row.treatment in offer.treatments)
    )


def _said(row: PriceRow) -> int:
    return sum(value is not None for value in (row.design, row.material, row.treatment))
