"""The case as rules know it, for one row of a comparison: what is worked out once for many rows comes from the table.

A rule cannot tell it from a case built from the order with that lens or frame. Every figure that is worked out and kept
(`figure`, `cached_property`) is a column of the table; what belongs to this one row (its eyes, its lens) is not. Pure.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from inspect import getattr_static
from typing import Any

from orders.documents.lens_catalogue import Material
from orders.documents.lens_order import LensOrder
from orders.options.lenses.bodies import BodyColumn, NotedBody, noted
from orders.options.lenses.columns import Column
from orders.options.lenses.image_sizes import NumberColumn
from orders.options.lenses.known import Known
from orders.options.lenses.measured import Measured
from orders.options.lenses.reads import Key, NotedPart, Reading
from orders.rules.case import Case, EyeCase
from orders.rules.figures import Figures
from orders.rules.worked_out import figure


def kept_names(kind: type) -> frozenset[str]:
    """The names of what objects of this class work out and keep."""
    return frozenset(name for name in dir(kind) if isinstance(getattr_static(kind, name), (cached_property, figure)))


class Row:
    """One row of the table while something is worked out on it and what it reads is noted."""

    __slots__ = ("case", "designs", "materials", "number", "reading", "table")

    def __init__(self, table: Known, number: int):
        self.table, self.number, self.reading = table, number, Reading()
        self.designs, self.materials = table.parts_of(number, self.reading)
        self.case = WatchedCase.of(self, table.order_of(number, self.reading))

    def kept(self, owner: Any, place: str, name: str) -> Any:
        """A figure of this row: from its column, or worked out here and now if it has none."""
        own = object.__getattribute__(owner, "__dict__")
        if name in own:
            return own[name]
        column = self.table.column((place, name))
        if isinstance(column, BodyColumn):
            body = own[name] = noted((place, name), column, self.table.placed(place), self)
            return body
        if isinstance(column, NumberColumn):
            number = own[name] = column.noted((place, name), self)
            return number
        if column is None:
            return object.__getattribute__(owner, name)
        if not column.is_constant:
            self.reading.note((place, name))
        value = own[name] = column.of(self.number)
        return value

    def note_column(self, key: Key, make: Callable[[], Column]) -> None:
        self.table.add(key, make)
        self.reading.note(key)

    def end(self) -> None:
        self.reading.ended = True


class WatchedFigures(Figures):
    """The figures of one eye of one row."""

    _eye: WatchedEye

    def __getattribute__(self, name: str) -> Any:
        if name in FIGURES:
            eye = object.__getattribute__(self, "_eye")
            return eye.row.kept(self, f"{eye.eye} figures", name)
        return object.__getattribute__(self, name)

    def body_in(self, material: Material) -> Any:
        eye = self._eye
        column, place = eye.row.table.bodies_in(eye.eye, material), f"{eye.eye} figures"
        return noted((place, "body in", material.id), column, eye.row.table.placed(place), eye.row)


class WatchedEye(EyeCase):
    """One eye of one row."""

    row: Row

    def __getattribute__(self, name: str) -> Any:
        if name in EYES_OWN:
            own = object.__getattribute__(self, "__dict__")
            return own["row"].kept(self, own["eye"], name)
        return object.__getattribute__(self, name)

    @property
    def shapes(self) -> Any:
        return self.case.shapes

    @property
    def design(self) -> Any:
        return self.row.designs[self.eye] if self.lens else None

    @property
    def material(self) -> Any:
        return self.row.materials[self.eye] if self.lens else None

    @property
    def figures(self) -> Any:
        own = self.__dict__
        if "own figures" not in own:
            own["own figures"] = WatchedFigures(self)
        return own["own figures"]


class WatchedCase(Case):
    """The case of one row."""

    row: Row

    @classmethod
    def of(cls, row: Row, order: LensOrder) -> WatchedCase:
        table = row.table
        case = object.__new__(cls)
        case.__dict__.update(
            row=row,
            order=order,
            catalogue=table.catalogue,
            others=table.others,
            limits=table.limits,
            today=table.today,
        )
        return case

    def __getattribute__(self, name: str) -> Any:
        if name in CASES:
            return object.__getattribute__(self, "__dict__")["row"].kept(self, "case", name)
        return object.__getattribute__(self, name)

    @property
    def right(self) -> Any:
        return self._watched("right")

    @property
    def left(self) -> Any:
        return self._watched("left")

    def _watched(self, eye: str) -> WatchedEye:
        own = self.__dict__
        name = f"own {eye}"
        if name not in own:
            watched = object.__new__(WatchedEye)
            watched.__dict__.update(row=self.row, order=self.order, catalogue=self.catalogue, eye=eye, case=self)
            own[name] = watched
        eyes: WatchedEye = own[name]
        return eyes


def owner_of(case: Case, place: str) -> Any:
    """The object that keeps the figures of a place: the case, an eye, or an eye's figures."""
    if place == "case":
        return case
    of_eye = case.right if place.startswith("right") else case.left
    return of_eye.figures if place.endswith(" figures") else of_eye


FIGURES = kept_names(WatchedFigures)
EYES_OWN = kept_names(WatchedEye)
CASES = kept_names(WatchedCase)


def belongs_to_one_row(value: Any) -> bool:
    """Whether an answer is, or holds, something of the row that it was worked out on."""
    parts = value if isinstance(value, tuple) else (value,)
    return any(
        isinstance(part, (WatchedCase, WatchedEye, WatchedFigures, NotedPart, NotedBody, Measured)) for part in parts
    )
