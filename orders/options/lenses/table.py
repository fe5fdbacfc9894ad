"""The table of lenses: a row for each lens on offer from one catalogue, for one order. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from dispensing.trade import Limits
from orders.documents.lens_catalogue import Design, LensCatalogue, Material
from orders.documents.lens_order import EYES, Eye, LensOrder, OrderedLens
from orders.options.lenses.columns import Column, Rows
from orders.options.lenses.offers import VARIED, Offer
from orders.options.lenses.reads import Key, NotedPart, Reading
from orders.options.lenses.row_table import RowTable, numbered, with_values
from orders.options.lenses.watched import owner_of

DESIGN_KEYS, MATERIAL_KEYS = tuple(Design.model_fields), tuple(Material.model_fields)


class Table(RowTable):
    """The lenses of one catalogue for one order, which must have a lens for each eye that is to be compared."""

    GIVEN = ("lens", "design", "material")

    def __init__(
        self,
        order: LensOrder,
        catalogue: LensCatalogue,
        offers: Sequence[Offer],
        *,
        others: Sequence[LensOrder] = (),
        limits: Limits | None = None,
        today: date | None = None,
    ):
        super().__init__(order, catalogue, len(offers), others=others, limits=limits, today=today)
        self.offers = offers
        self._parts: dict[str, tuple[list[Any], Rows]] = {}

    def order_of(self, number: int, reading: Reading | None = None) -> LensOrder:
        """The order with this lens."""
        offer, now = self.offers[number], self.order.lenses
        right, left = (self._lens(lens, offer, reading) for lens in (now.right, now.left))
        order: LensOrder = with_values(self.order, lenses=with_values(now, right=right, left=left))
        return order

    def _lens(self, lens: OrderedLens | None, offer: Offer, reading: Reading | None) -> Any:
        if lens is None:
            return None
        this = with_values(lens, **offer.choice)
        return this if reading is None else NotedPart(this, "lens", VARIED, reading)

    def parts_of(self, number: int, reading: Reading) -> tuple[Mapping[Eye, Any], Mapping[Eye, Any]]:
        offer = self.offers[number]
        design = NotedPart(offer.design, "design", DESIGN_KEYS, reading)
        material = NotedPart(offer.material, "material", MATERIAL_KEYS, reading)
        return dict.fromkeys(EYES, design), dict.fromkeys(EYES, material)

    def chosen(self, key: Key) -> Column:
        place, name, *_ = key
        if place == "lens":
            return Column.of_parts(*numbered([offer.chosen(name) for offer in self.offers], by_value=True))
        return self._of_part(place, lambda part: getattr(part, name))

    def substances(self, place: str, material: Material | None = None) -> Column:
        figures = owner_of(self.on(0), place)
        if material is not None:
            return Column(np.zeros(self.count, dtype=np.intp), [figures.substance_of(material)])
        return self._of_part("material", figures.substance_of)

    def _of_part(self, place: str, answer: Callable[[Any], Any]) -> Column:
        """A column that depends on the design or the material alone, answered once for each."""
        if place not in self._parts:
            self._parts[place] = numbered([getattr(offer, place) for offer in self.offers])
        parts, part_of_row = self._parts[place]
        return Column.of_parts([answer(part) for part in parts], part_of_row)
