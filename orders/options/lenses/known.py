"""What a row asks of its table. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any, Protocol

from dispensing.trade import Limits
from orders.documents.lens_catalogue import LensCatalogue, Material
from orders.documents.lens_order import Eye, LensOrder
from orders.options.lenses.bodies import BodyColumn
from orders.options.lenses.columns import Column
from orders.options.lenses.reads import Key, Reading
from orders.rules.case import Case


class Known(Protocol):
    """The table, as its rows see it."""

    order: LensOrder
    catalogue: LensCatalogue
    count: int
    others: Sequence[LensOrder]
    limits: Limits
    today: date | None

    def order_of(self, number: int, reading: Reading | None = None) -> LensOrder: ...

    def parts_of(self, number: int, reading: Reading) -> tuple[Mapping[Eye, Any], Mapping[Eye, Any]]: ...

    def on(self, number: int) -> Case: ...

    def each(self, work: Callable[[Case], Any]) -> Column: ...

    def substances(self, place: str, material: Material | None = None) -> Column: ...

    def column(self, key: Key) -> Column | None: ...

    def add(self, key: Key, make: Callable[[], Column]) -> None: ...

    def placed(self, place: str) -> Column: ...

    def bodies_in(self, eye: Eye, material: Material) -> BodyColumn: ...
