"""The table of a comparison: a row for each choice compared, and a column for whatever is worked out about them.

Columns are made when first asked for: by the rules themselves, for the most part. Thickness, edges and weight are
worked out for all rows together. What a row chooses, a lens or a frame, only its own table knows. Pure.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, ClassVar

import numpy as np

from dispensing.trade import Limits
from orders.documents.lens_catalogue import LensCatalogue, Material
from orders.documents.lens_order import Eye, LensOrder
from orders.options.lenses import bodies, image_sizes
from orders.options.lenses.alone import AloneCase
from orders.options.lenses.bodies import Body, BodyColumn
from orders.options.lenses.columns import Column, Rows, worked
from orders.options.lenses.reads import Key, Reading
from orders.options.lenses.watched import Row, belongs_to_one_row, owner_of
from orders.rules.case import Case


@dataclass(eq=False)
class _Alone:
    """The case of one row by itself, and how many columns of each place it has been told."""

    case: Case
    told: dict[str, int] = field(default_factory=dict)
    columns: int = 0


class RowTable(ABC):
    """count: how many rows. The order must have a lens for each eye that is to be compared."""

    GIVEN: ClassVar[tuple[str, ...]]
    """Places whose columns are what the rows choose; nothing is worked out for them."""

    def __init__(
        self,
        order: LensOrder,
        catalogue: LensCatalogue,
        count: int,
        *,
        others: Sequence[LensOrder] = (),
        limits: Limits | None = None,
        today: date | None = None,
    ):
        self.order, self.catalogue, self.count = order, catalogue, count
        self.others, self.limits, self.today = others, limits or Limits(), today
        self._columns: dict[Key, Column | None] = {}
        # The case comes first: an eye by itself asks it for the shapes.
        self._kept: dict[str, list[tuple[str, Sequence[Any], list[int]]]] = {"case": []}
        self._kept_columns = 0
        self._alone: dict[int, _Alone] = {}

    @abstractmethod
    def order_of(self, number: int, reading: Reading | None = None) -> LensOrder:
        """The order of a row, as it would be checked by itself; or with choices that note what is read of them."""

    @abstractmethod
    def parts_of(self, number: int, reading: Reading) -> tuple[Mapping[Eye, Any], Mapping[Eye, Any]]:
        """The design and the material of each eye, noting what is read of them if they differ from row to row."""

    @abstractmethod
    def chosen(self, key: Key) -> Column:
        """The column of something that rows choose."""

    @abstractmethod
    def substances(self, place: str, material: Material | None = None) -> Column:
        """What each row's material says of its body, or what another one would."""

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
        alone = self._alone.get(number)
        if alone is None:
            case = AloneCase(self.order_of(number), self.catalogue, self.others, self.limits, self.today)
            case.__dict__.update(table=self, number=number)
            alone = self._alone[number] = _Alone(case)
        if alone.columns < self._kept_columns:
            self._tell(alone, number)
        return alone.case

    def _tell(self, alone: _Alone, number: int) -> None:
        """The columns made since this case was last asked for."""
        alone.columns = self._kept_columns
        for place, columns in self._kept.items():
            told = alone.told.get(place, 0)
            if told < len(columns):
                own = owner_of(alone.case, place).__dict__
                for name, answers, groups in columns[told:]:
                    own[name] = answers[groups[number]]
                alone.told[place] = len(columns)

    def column(self, key: Key) -> Column | None:
        """The values of what was read. None: it belongs to each row alone."""
        if key not in self._columns:
            self._keep(key, self._made(key))
        return self._columns[key]

    def _keep(self, key: Key, column: Column | None) -> None:
        self._columns[key] = column
        if column is not None and key[0] not in self.GIVEN:
            self._kept.setdefault(key[0], []).append((key[1], column.answers, column.groups.tolist()))
            self._kept_columns += 1

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
        place = f"{eye} figures"
        key = (place, "body in", material.id)
        if key not in self._columns:
            self._columns[key] = bodies.bodies(self.placed(place), self.substances(place, material))
        column = self._known(key)
        assert isinstance(column, BodyColumn)
        return column

    def _made(self, key: Key) -> Column | None:
        place, name, *_ = key
        if place in self.GIVEN:
            return self.chosen(key)
        if name == "body" and place.endswith(" figures"):
            return bodies.bodies(self.placed(place), self.substances(place))
        if key == ("case", image_sizes.NAME) and (sizes := image_sizes.image_sizes(self)) is not None:
            return sizes
        column = self._worked(lambda case: object.__getattribute__(owner_of(case, place), name))
        return None if any(map(belongs_to_one_row, column.answers)) else column

    def _known(self, key: Key) -> Column:
        column = self.column(key)
        assert column is not None
        return column

    def _worked(self, work: Callable[[Case], Any]) -> Column:
        def on_one(number: int, noting: bool) -> tuple[Any, set[Key]]:
            if not noting:
                return work(self.on(number)), set()
            row = Row(self, number)
            answer = work(row.case)
            row.end()
            return answer, row.reading.read

        return worked(self.count, on_one, self._known)


def numbered(parts: Sequence[Any], by_value: bool = False) -> tuple[list[Any], Rows]:
    """The different parts, each once, and for each row which of them it has."""
    places: dict[Any, int] = {}
    numbers = [places.setdefault(part if by_value else id(part), len(places)) for part in parts]
    first = dict(zip(reversed(numbers), reversed(parts), strict=True))
    return [first[number] for number in range(len(places))], np.array(numbers, dtype=np.intp)


def with_values(part: Any, **values: Any) -> Any:
    """A copy with other values, which are not looked at again; as `model_copy`, but made thousands of times."""
    copy = object.__new__(type(part))
    for name in ("__pydantic_extra__", "__pydantic_fields_set__", "__pydantic_private__"):
        object.__setattr__(copy, name, getattr(part, name))
    object.__setattr__(copy, "__dict__", {**part.__dict__, **values})
    return copy
