"""The bridge from the practice's stored price list to its rows."""

from __future__ import annotations

from functools import lru_cache

from orders.documents import price_list
from orders.models import PriceList
from orders.queries import price_list_in_use


def priced_by(prices: PriceList) -> price_list.PriceList:
    """The rows of a stored list."""
    return _read(prices.text)


def own_prices() -> price_list.PriceList | None:
    """The rows of the list in use; None if the practice has none, and the catalogues' prices count."""
    prices = price_list_in_use()
    return priced_by(prices) if prices is not None else None


@lru_cache(maxsize=4)
def _read(text: str) -> price_list.PriceList:
    return price_list.read_prices(text.encode())
