"""The edged lenses of all rows at once: every placed lens in every substance that occurs, worked out in arrays.

The same figures as the check works out one by one, to the last bit. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import groupby
from typing import Any

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.errors import OpticsError
from dispensing.optics.lens_batches import lens_bodies
from dispensing.optics.lens_body import LensBody
from orders.options.lenses.columns import Column, Rows
from orders.options.lenses.measured import Measured, Notes
from orders.options.lenses.reads import Key
from orders.rules.bodies import PlacedLens, Substance, body_of

Pair = tuple[PlacedLens, Substance]
FIGURES = ("centre_thickness_mm", "thinnest_mm", "edge_min_mm", "edge_max_mm", "weight_g")


class Body:
    """An edged lens: its power and the figures that rules and report read most, in mm and g. For anything else, such as
    a ray through it, the lens is worked out by itself, once.
    """

    __slots__ = (
        "_pair",
        "_whole",
        "centre_thickness_mm",
        "edge_max_mm",
        "edge_min_mm",
        "power",
        "thinnest_mm",
        "weight_g",
    )

    centre_thickness_mm: float
    thinnest_mm: float
    edge_min_mm: float
    edge_max_mm: float
    weight_g: float

    def __init__(self, pair: Pair, figures: Sequence[float]):
        self._pair, self.power = pair, pair[0].power
        self._whole: LensBody | None = None
        self.centre_thickness_mm, self.thinnest_mm, self.edge_min_mm, self.edge_max_mm, self.weight_g = figures

    @property
    def whole(self) -> LensBody:
        """The lens with its surfaces and every corner."""
        if self._whole is None:
            self._whole = body_of(*self._pair)
        return self._whole

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_"):
            raise AttributeError(name)
        return getattr(self.whole, name)


class BodyColumn(Column):
    """The bodies of all rows, with their figures in arrays."""

    @cached_property
    def is_known(self) -> Column:
        """Whether each row has a body."""
        known = np.array([body is not None for body in self.answers])
        return Column(known[self.groups].astype(np.intp), (False, True))

    @cached_property
    def figures(self) -> dict[str, FloatArray]:
        """Each figure of every row, NaN where there is no body."""
        rows = [[getattr(body, name) for name in FIGURES] if body else NOTHING for body in self.answers]
        table = np.array(rows)[self.groups]
        return {name: np.ascontiguousarray(table[:, place]) for place, name in enumerate(FIGURES)}


NOTHING = [np.nan] * len(FIGURES)


class NotedBody:
    """The body of a row while it is noted what is read of it."""

    __slots__ = ("_column", "_key", "_placed", "_row")

    def __init__(self, key: Key, column: BodyColumn, placed: Column, row: Notes):
        self._key, self._column, self._placed, self._row = key, column, placed, row

    def __getattr__(self, name: str) -> Any:
        if name in FIGURES:
            return Measured((*self._key, name), self._column.figures[name], self._row)
        if name == "power":
            self._row.note_column((*self._key, name), lambda: self._placed)
        else:
            self._row.note_column((*self._key, "itself"), lambda: self._column)
        return getattr(self._column.of(self._row.number), name)


def noted(key: Key, column: BodyColumn, placed: Column, row: Notes) -> NotedBody | None:
    """The body of a row, noting whether there is one, and then whatever is read of it."""
    row.note_column((*key, "known"), lambda: column.is_known)
    return None if column.of(row.number) is None else NotedBody(key, column, placed, row)


def bodies(placed: Column, substances: Column) -> BodyColumn:
    """The body of each row; None where the optics core refuses it or something is not known."""
    lenses, of_lens = _once(placed.answers)
    materials, of_material = _once(substances.answers)
    width = len(materials)
    codes = of_lens[placed.groups] * width + of_material[substances.groups]
    used, groups = np.unique(codes, return_inverse=True)
    pairs = [(lenses[code // width], materials[code % width]) for code in used.tolist()]
    made: list[Body | None] = [None] * len(pairs)
    known = [number for number, (lens, substance) in enumerate(pairs) if lens is not None and substance is not None]
    known.sort(key=lambda number: pairs[number][0].shape.count)
    for _, alike in groupby(known, key=lambda number: pairs[number][0].shape.count):
        _work(list(alike), pairs, made)
    return BodyColumn(groups, made)


def _once(answers: Sequence[Any]) -> tuple[list[Any], Rows]:
    """The different answers, and for each answer which of them it is."""
    places: dict[Any, int] = {}
    numbers = [places.setdefault(answer, len(places)) for answer in answers]
    return list(places), np.array(numbers, dtype=np.intp)


def _work(numbers: list[int], pairs: Sequence[Pair], made: list[Body | None]) -> None:
    """Work all together; if any is refused, each half by itself, so that only those that cannot be made are left.

    Lenses with a full-width segment are few, are cut twice, and are worked one by one.
    """
    together = [number for number in numbers if pairs[number][0].reading is None]
    for number in numbers:
        if pairs[number][0].reading is not None:
            made[number] = _alone(pairs[number])
    _work_together(together, pairs, made)


def _alone(pair: Pair) -> Body | None:
    try:
        body = body_of(*pair)
    except OpticsError:
        return None
    return Body(pair, [getattr(body, name) for name in FIGURES])


def _work_together(numbers: list[int], pairs: Sequence[Pair], made: list[Body | None]) -> None:
    if not numbers:
        return
    try:
        for number, body in zip(numbers, _together([pairs[number] for number in numbers]), strict=True):
            made[number] = body
    except OpticsError:
        if len(numbers) > 1:
            half = len(numbers) // 2
            _work_together(numbers[:half], pairs, made)
            _work_together(numbers[half:], pairs, made)


def _together(pairs: list[Pair]) -> list[Body]:
    def each(values: Any) -> Any:
        return np.array(list(values), dtype=np.float64)

    shapes = [lens.shape for lens, _ in pairs]
    found = lens_bodies(
        shapes[0] if all(shape is shapes[0] for shape in shapes) else shapes,
        sphere=each(lens.power.sphere for lens, _ in pairs),
        cylinder=each(lens.power.cylinder for lens, _ in pairs),
        axis_deg=each(lens.power.axis for lens, _ in pairs),
        index=each(substance.index for _, substance in pairs),
        density_g_cm3=each(substance.density_g_cm3 for _, substance in pairs),
        front_curve_d=each(lens.front_curve_d for lens, _ in pairs),
        min_centre_mm=each(substance.min_centre_mm for _, substance in pairs),
        min_edge_mm=each(substance.min_edge_mm for _, substance in pairs),
        reference_in_mm=each(lens.reference_in_up_mm[0] for lens, _ in pairs),
        reference_up_mm=each(lens.reference_in_up_mm[1] for lens, _ in pairs),
        prism_in=each(lens.prism.in_pd for lens, _ in pairs),
        prism_up=each(lens.prism.up_pd for lens, _ in pairs),
    )
    figures = zip(*(getattr(found, name).tolist() for name in FIGURES), strict=True)
    return [Body(pair, values) for pair, values in zip(pairs, figures, strict=True)]
