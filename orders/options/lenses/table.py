"""The table of a comparison: a row for each lens on offer, and a column for whatever is worked out about them.

Columns are made when first asked for: by the rules themselves, for the most part. Thickness, edges and weight are
worked out for all rows together. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import Any

import numpy as np

from dispensing.trade import Limits
from orders.documents.lens_catalogue import LensCatalogue, Material
from orders.documents.lens_order import Eye, LensOrder, OrderedLens
from orders.options.lenses import bodies
from orders.options.lenses.alone import AloneCase
from orders.options.lenses.bodies import Body, BodyColumn
from orders.options.lenses.columns import Column, Rows, worked
from orders.options.lenses.offers import VARIED, Offer
from orders.options.lenses.reads import Key, NotedPart, Reading
from orders.options.lenses.watched import Row, belongs_to_one_row, owner_of
from orders.rules.case import Case

FROM_THE_START = ("lens", "design", "material")


class Table:
    """The lenses of one catalogue for one order, which must have a lens for each eye that is to be compared."""

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
        self.order, self.catalogue, self.offers = order, catalogue, offers
        self.others, self.limits, self.today = others, limits or Limits(), today
        self._columns: dict[Key, Column | None] = {}
        # The case comes first: an eye by itself asks it for the shapes.
        self._kept: dict[str, list[tuple[str, Sequence[Any], list[int]]]] = {"case": []}
        self._parts: dict[str, tuple[list[Any], Rows]] = {}
        self._alone: dict[int, Case] = {}

    def order_of(self, offer: Offer, reading: Reading | None = None) -> LensOrder:
        """The order with this lens, as it would be checked by itself; or with lenses that note what is read of them."""
        now = self.order.lenses
        right, left = (self._lens(lens, offer, reading) for lens in (now.right, now.left))
        order: LensOrder = _with(self.order, lenses=_with(now, right=right, left=left))
        return order

    def _lens(self, lens: OrderedLens | None, offer: Offer, reading: Reading | None) -> Any:
        if lens is None:
            return None
        this = _with(lens, **offer.choice)
        return this if reading is None else NotedPart(this, "lens", VARIED, reading)

    def make_ready(self, works: Iterable[Callable[[Case], Any]]) -> None:
        """Make the columns that this work reads on the first row, so that rows by themselves have them from the start.

        It saves time, and changes nothing: a row works out for itself what it has no column for.
        """
        for work in works:
            work(Row(self, 0).case)

    def each(self, work: Callable[[Case], Any]) -> Column:
        """What `work` says of each row."""
        return self._worked(work)

    def on(self, number: int) -> Case:
        """The case of one row by itself, with what its columns say; kept, because many rules ask for it."""
        if number not in self._alone:
            self._alone[number] = self._case(number)
        return self._alone[number]

    def _case(self, number: int) -> Case:
        offer = self.offers[number]
        case = AloneCase(self.order_of(offer), self.catalogue, self.others, self.limits, self.today)
        case.__dict__.update(table=self, number=number)
        for place, columns in self._kept.items():
            own = owner_of(case, place).__dict__
            for name, answers, groups in columns:
                own[name] = answers[groups[number]]
        return case

    def column(self, key: Key) -> Column | None:
        """The values of what was read. None: it belongs to each row alone."""
        if key not in self._columns:
            column = self._columns[key] = self._made(key)
            if column is not None and key[0] not in FROM_THE_START:
                self._kept.setdefault(key[0], []).append((key[1], column.answers, column.groups.tolist()))
        return self._columns[key]

    def body(self, number: int, eye: Eye) -> Body | None:
        """The edged lens of one eye of a row."""
        if self.order.lenses.eye(eye) is None:
            return None
        body: Body | None = self._known((f"{eye} figures", "body")).of(number)
        return body

    def add(self, key: Key, make: Callable[[], Column]) -> None:
        """A column that is not worked row by row, made unless it is there."""
        if key not in self._columns:
            self._columns[key] = make()

    def placed(self, place: str) -> Column:
        """The lenses of a place without their materials."""
        return self._known((place, "placed"))

    def bodies_in(self, eye: Eye, material: Material) -> BodyColumn:
        """The lens of each row for this eye, in this material instead of its own."""
        key = (f"{eye} figures", "body in", material.id)
        if key not in self._columns:
            substance = owner_of(self.on(0), f"{eye} figures").substance_of(material)
            of_material = Column(np.zeros(len(self.offers), dtype=np.intp), [substance])
            self._columns[key] = bodies.bodies(self.placed(key[0]), of_material)
        column = self._known(key)
        assert isinstance(column, BodyColumn)
        return column

    def _made(self, key: Key) -> Column | None:
        place, name, *_ = key
        if place == "lens":
            return Column.of_parts(*_numbered([offer.choice[name] for offer in self.offers], by_value=True))
        if place in ("design", "material"):
            return self._of_part(place, lambda part: getattr(part, name))
        if name == "body" and place.endswith(" figures"):
            return self._bodies("right" if place.startswith("right") else "left")
        return self._figure(place, name)

    def _figure(self, place: str, name: str) -> Column | None:
        column = self._worked(lambda case: object.__getattribute__(owner_of(case, place), name))
        return None if any(map(belongs_to_one_row, column.answers)) else column

    def _bodies(self, eye: Eye) -> Column:
        figures = owner_of(self.on(0), f"{eye} figures")
        substances = self._of_part("material", figures.substance_of)
        return bodies.bodies(self.placed(f"{eye} figures"), substances)

    def _known(self, key: Key) -> Column:
        column = self.column(key)
        assert column is not None
        return column

    def _of_part(self, place: str, answer: Callable[[Any], Any]) -> Column:
        """A column that depends on the design or the material alone, answered once for each."""
        if place not in self._parts:
            self._parts[place] = _numbered([getattr(offer, place) for offer in self.offers])
        parts, part_of_row = self._parts[place]
        return Column.of_parts([answer(part) for part in parts], part_of_row)

    def _worked(self, work: Callable[[Case], Any]) -> Column:
        def on_one(number: int, noting: bool) -> tuple[Any, set[Key]]:
            if not noting:
                return work(self.on(number)), set()
            row = Row(self, number)
            answer = work(row.case)
            row.end()
            return answer, row.reading.read

        return worked(len(self.offers), on_one, self._known)


def _numbered(parts: Sequence[Any], by_value: bool = False) -> tuple[list[Any], Rows]:
    """The different parts, each once, and for each row which of them it has."""
    places: dict[Any, int] = {}
    numbers = [places.setdefault(part if by_value else id(part), len(places)) for part in parts]
    first = dict(zip(reversed(numbers), reversed(parts), strict=True))
    return [first[number] for number in range(len(places))], np.array(numbers, dtype=np.intp)


def _with(part: Any, **values: Any) -> Any:
    """A copy with other values, which are not looked at again; as `model_copy`, but made thousands of times."""
    copy = object.__new__(type(part))
    for name in ("__pydantic_extra__", "__pydantic_fields_set__", "__pydantic_private__"):
        object.__setattr__(copy, name, getattr(part, name))
    object.__setattr__(copy, "__dict__", {**part.__dict__, **values})
    return copy
