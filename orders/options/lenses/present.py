"""The lens that an order has now, as a row like those it is compared with; and what makes two lenses the same. Pure."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from dispensing.trade import Limits, PracticeLimits
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder, OrderedLens
from orders.documents.price_list import PriceList
from orders.options.lenses.comparison import LensRow
from orders.options.lenses.judged import judged
from orders.options.lenses.offers import VARIED, Offer
from orders.options.lenses.table import Table

KEY_LENGTH = 16


def key_of(lens: Mapping[str, Any], lab: str) -> str:
    """A short word for one lens of a lab, by which an address can name it: the same today and tomorrow.

    lens: the keys of an ordered lens in which offers differ.
    """
    chosen = [lens[name] for name in VARIED if name != "treatments"]
    text = json.dumps([lab, *chosen, sorted(lens["treatments"])])
    return hashlib.sha256(text.encode()).hexdigest()[:KEY_LENGTH]


def present_row(
    order: LensOrder,
    catalogue: LensCatalogue,
    *,
    others: Sequence[LensOrder] = (),
    practice_limits: PracticeLimits | None = None,
    today: date | None = None,
    own_prices: PriceList | None = None,
) -> LensRow | None:
    """The lens ordered, judged as the check does. None if none is chosen, if right and left are to be different, or if
    the catalogue does not have it. Arguments as for the comparison.
    """
    offer = present_offer(order, catalogue)
    if offer is None:
        return None
    practice = practice_limits or PracticeLimits()
    table = Table(order, catalogue, [offer], others=others, limits=Limits(practice), today=today)
    return LensRow(table, judged(table, practice), 0, own_prices)


def present_offer(order: LensOrder, catalogue: LensCatalogue) -> Offer | None:
    """The lens ordered for both eyes, or for the only one, as its lab offers it."""
    lenses = [lens for lens in map(order.lenses.eye, order.ordered_eyes) if lens is not None]
    if not lenses or any(_choice(lens) != _choice(lenses[0]) for lens in lenses):
        return None
    lens = lenses[0]
    design, material = catalogue.design(lens.design), catalogue.material(lens.material)
    if design is None or material is None:
        return None
    return Offer(catalogue, design, material, lens.corridor_mm, lens.blank_mm, tuple(lens.treatments or ()))


def _choice(lens: OrderedLens) -> list[Any]:
    return [lens.design, lens.material, lens.corridor_mm, lens.blank_mm, sorted(lens.treatments or ())]
