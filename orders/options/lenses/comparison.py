"""The comparison: every lens of every catalogue as a row, with its figures, what the check says, its price, and what
could not be compared. Pure: documents in, rows out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from dispensing.trade import Limits, PracticeLimits
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_option import LensOption, Price
from orders.documents.lens_order import LensOrder
from orders.documents.price_list import PriceList
from orders.options.lenses.judged import judged
from orders.options.lenses.judged_row import JudgedRow
from orders.options.lenses.offers import Offer, offers, to_be_compared, wanted_treatments
from orders.options.lenses.prices import Cost, cost_of
from orders.options.lenses.table import Table
from orders.options.lenses.unknown import Unknown, unknown_in


@dataclass(frozen=True, eq=False)
class LensRow(JudgedRow):
    """One lens on offer. own_prices: the practice's own list, which then takes the place of the catalogue's prices."""

    table: Table
    own_prices: PriceList | None = None

    @property
    def offer(self) -> Offer:
        return self.table.offers[self.number]

    @cached_property
    def _priced(self) -> tuple[Cost | None, str]:
        return cost_of(self.offer, len(self.table.order.ordered_eyes), self.own_prices)

    @property
    def cost(self) -> Cost | None:
        """What all lenses ordered cost; None if it is not known."""
        return self._priced[0]

    @property
    def price(self) -> Price | None:
        return None if self.cost is None else self.cost.price

    @cached_property
    def unknown(self) -> tuple[Unknown, ...]:
        """What could not be worked out or is not stated, and why."""
        price = (Unknown("price", self._priced[1]),) if self._priced[1] else ()
        return (*unknown_in(self.case), *price)

    def document(self) -> LensOption:
        offer, figures = self.offer, self.computed
        return LensOption(
            lab=offer.catalogue.lab,
            **offer.choice,
            right=figures.right,
            left=figures.left,
            verdict=self.verdict,
            findings=self.findings,
            weight_pair_g=self.weight_pair_g,
            price=self.price,
            extra=_extra(self),
        )


def _extra(row: LensRow) -> dict[str, object]:
    unknown = [{"figure": one.figure, "eye": one.eye, "why": one.why} for one in row.unknown]
    left_out = {"left_out": list(row.offer.left_out)} if row.offer.left_out else {}
    return {"unknown": unknown, **left_out}


def compare(
    order: LensOrder,
    catalogues: Sequence[LensCatalogue],
    *,
    others: Sequence[LensOrder] = (),
    practice_limits: PracticeLimits | None = None,
    today: date | None = None,
    accounts: Mapping[str, str | None] | None = None,
    own_prices: PriceList | None = None,
) -> tuple[LensRow, ...]:
    """Every lens that the catalogues offer for the order, catalogue by catalogue, in their own sequence.

    Arguments as for the check. accounts: the practice's account with each lab by name; without it, that of the order
    stays, which is with the order's own lab. own_prices: the practice's own price list. The order's own lenses say
    which eyes are wanted, and everything about them but design, material, corridor, blank and treatments; where none is
    chosen yet, both eyes are wanted.
    """
    wanted = wanted_treatments(order, catalogues)
    practice = practice_limits or PracticeLimits()
    rows: list[LensRow] = []
    for catalogue in catalogues:
        on_offer = list(offers(catalogue, wanted))
        if not on_offer:
            continue
        going = to_be_compared(order, catalogue.lab, accounts)
        table = Table(going, catalogue, on_offer, others=others, limits=Limits(practice), today=today)
        said = judged(table, practice)
        rows += (LensRow(table, said, number, own_prices) for number in range(len(on_offer)))
    return tuple(rows)


def not_offered(catalogue: LensCatalogue) -> tuple[str, ...]:
    """Designs and materials of a catalogue that no row can be made of, and why, in words."""
    said = [
        f"{design.name} is listed in the material “{id}”, which the catalogue does not have."
        for design in catalogue.designs
        for id in dict.fromkeys(design.materials)
        if catalogue.material(id) is None
    ]
    if not catalogue.designs:
        said.append("The catalogue has no designs.")
    elif not catalogue.materials:
        said.append("The catalogue has no materials.")
    return tuple(said)
