"""How much the image sizes of both eyes differ, for all rows at once, to the same bits as the case has it. Pure."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Any

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.image_size_batches import (
    MagnifyingLenses,
    image_size_differences_percent,
    true_powers_from_marked,
)
from orders.documents.lens_order import EYES, Eye
from orders.options.lenses.bodies import BodyColumn
from orders.options.lenses.columns import Column
from orders.options.lenses.known import Known
from orders.options.lenses.measured import Measured, Notes
from orders.options.lenses.reads import Key

NAME = "image_sizes_differ_percent"


class NumberColumn(Column):
    """A figure that may differ in every row. values: NaN where it is not known."""

    values: FloatArray

    @classmethod
    def of_values(cls, values: FloatArray) -> NumberColumn:
        answers = [None if value != value else value for value in values.tolist()]
        column = cls(np.arange(values.size, dtype=np.intp), answers)
        object.__setattr__(column, "values", values)
        return column

    @cached_property
    def is_known(self) -> Column:
        return Column((~np.isnan(self.values)).astype(np.intp), (False, True))

    def noted(self, key: Key, row: Notes) -> Measured | None:
        """The figure of a row, noting whether there is one, and then whatever is read of it."""
        row.note_column((*key, "known"), lambda: self.is_known)
        return None if self.of(row.number) is None else Measured(key, self.values, row)


def image_sizes(table: Known) -> NumberColumn | None:
    """The column; None if it has to be worked out row by row: for a lens whose centre thickness is ordered."""
    lenses = [table.order.lenses.eye(eye) for eye in EYES]
    if any(lens is not None and lens.centre_thickness_mm is not None for lens in lenses):
        return None
    if any(lens is None for lens in lenses):
        return NumberColumn.of_values(np.full(table.count, np.nan))
    right, left = (_magnifying(table, eye) for eye in EYES)
    return NumberColumn.of_values(image_size_differences_percent(right, left))


def _magnifying(table: Known, eye: Eye) -> MagnifyingLenses:
    place = f"{eye} figures"
    bodies, curves, placed = (_column(table, (place, name)) for name in ("body", "base_curve", "placed"))
    assert isinstance(bodies, BodyColumn)
    index = _each(table.substances(place), lambda substance: substance.index)
    return MagnifyingLenses(
        power_d=_each(placed, lambda lens: lens.power.mean_sphere),
        front_power_d=true_powers_from_marked(_each(curves, lambda curve: curve.curve_d), index),
        centre_thickness_mm=bodies.figures["centre_thickness_mm"],
        index=index,
        eye_distance_mm=_each(table.each(lambda case: getattr(case, eye).worn_vertex_mm), float),
    )


def _each(column: Column, value: Callable[[Any], float]) -> FloatArray:
    found: FloatArray = np.array([np.nan if one is None else value(one) for one in column.answers])[column.groups]
    return found


def _column(table: Known, key: Key) -> Column:
    column = table.column(key)
    assert column is not None
    return column
