"""What a lens costs: by the practice's own price list if there is one, otherwise by the catalogue's price rows. Pure.

In both, the row that says most about the lens is its price. The practice's list has besides a row for each treatment,
which is added. Whatever is not priced has no price, and never costs nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from orders.documents.lens_catalogue import PriceRow
from orders.documents.lens_option import Price
from orders.documents.price_list import OwnPrice, PriceList
from orders.options.lenses.offers import Offer

NO_PRICE = "The catalogue gives no price for it."
TWO_PRICES = "Two prices of the catalogue suit it equally well."
NOT_LISTED = "Our price list has no price for {}."
TWO_LISTED = "Two prices of our list suit {} equally well."
TWO_CURRENCIES = "Our price list prices its parts in two currencies."
THE_LENS = "the lens itself"


@dataclass(frozen=True)
class Cost:
    """price: as ``lens-option/1`` has it. total: of all lenses ordered. says: how the total comes about."""

    price: Price
    total: Decimal
    says: str

    @property
    def written(self) -> str:
        """``240.00 EUR``."""
        return f"{self.total:.2f} {self.price.currency}"


def cost_of(offer: Offer, lenses: int, own: PriceList | None = None) -> tuple[Cost | None, str]:
    """What this lens costs, or None and why that is not known. lenses: how many are ordered."""
    return _by_catalogue(offer, lenses) if own is None else _by_own_list(offer, lenses, own)


def _by_catalogue(offer: Offer, lenses: int) -> tuple[Cost | None, str]:
    """A row that names design, material and treatment outdoes one that names fewer of them."""
    rows = [row for row in offer.catalogue.prices if _is_priced(row) and _suits(row, offer)]
    most = max(map(_said, rows), default=0)
    prices = {(row.amount, row.currency) for row in rows if _said(row) == most}
    if len(prices) != 1:
        return None, TWO_PRICES if prices else NO_PRICE
    amount, currency = prices.pop()
    price = Price(amount=amount or 0.0, currency=currency or "")
    total = Decimal(repr(price.amount)) * lenses
    return Cost(
        price, total, f"{lenses} × {price.amount:.2f}, the lab’s price" if lenses > 1 else "the lab’s price"
    ), ""


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


def _by_own_list(offer: Offer, lenses: int, own: PriceList) -> tuple[Cost | None, str]:
    parts: list[OwnPrice] = []
    for words, names in _parts(offer):
        about = own.about(dict.fromkeys((None, offer.design.id.casefold(), offer.design.name.casefold())), names)
        found = _best([row for row in about if _fits(row, offer, lenses)])
        if len({(row.per, row.amount, row.currency) for row in found}) != 1:
            return None, (TWO_LISTED if found else NOT_LISTED).format(words)
        parts.append(found[0])
    if len({part.currency for part in parts}) != 1:
        return None, TWO_CURRENCIES
    total = sum((part.amount * (lenses if part.per == "lens" else 1) for part in parts), Decimal(0))
    return Cost(Price(amount=float(total), currency=parts[0].currency), total, "our price list"), ""


def _parts(offer: Offer) -> Iterable[tuple[str, Sequence[str | None]]]:
    """The lens itself and each of its treatments: in words, and by what a row may call it."""
    yield THE_LENS, (None,)
    for id in offer.treatments:
        treatment = offer.catalogue.treatment(id)
        name = treatment.name if treatment is not None else id
        yield f"“{name}”", tuple(dict.fromkeys((id.casefold(), name.casefold())))


def _fits(row: OwnPrice, offer: Offer, lenses: int) -> bool:
    return (
        (row.per == "lens" or lenses > 1)
        and row.lab in (None, offer.catalogue.lab.casefold())
        and row.material in (None, offer.material.id.casefold(), offer.material.name.casefold())
        and row.blank_mm in (None, offer.blank_mm)
    )


def _best(rows: Sequence[OwnPrice]) -> list[OwnPrice]:
    """The rows that name most of the lens; where one prices the pair and another a lens, that of the pair."""

    def named(row: OwnPrice) -> int:
        return sum(value is not None for value in (row.lab, row.design, row.material, row.blank_mm))

    most = max(map(named, rows), default=0)
    best = [row for row in rows if named(row) == most]
    return [row for row in best if row.per == "pair"] or best
