"""The edged lenses of all rows at once: every placed lens in every substance that occurs, worked out in arrays.

The same figures as the check works out one by one, to the last bit. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import numpy as np

from dispensing.optics.errors import OpticsError
from dispensing.optics.lens_batches import lens_bodies
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism
from orders.options.lenses.columns import Column
from orders.rules.bodies import PlacedLens, Substance, body_of

Pair = tuple[PlacedLens, Substance]
FIGURES = ("centre_thickness_mm", "thinnest_mm", "edge_min_mm", "edge_max_mm", "weight_g")


@dataclass(frozen=True, slots=True)
class Body:
    """What rules and report read of an edged lens: mm and g. pair: what it is worked out from."""

    pair: Pair
    centre_thickness_mm: float
    thinnest_mm: float
    edge_min_mm: float
    edge_max_mm: float
    weight_g: float

    @property
    def power(self) -> SphereCylinder:
        return self.pair[0].power

    def prism_at(self, in_mm: float, up_mm: float) -> Prism:
        """The prism away from the centre by an exact ray, which is asked for in strong lenses only: one by one."""
        return body_of(*self.pair).prism_at(in_mm, up_mm)


def bodies(placed: Column, substances: Column) -> Column:
    """The body of each row; None where the optics core refuses it or something is not known."""
    width = len(substances.answers)
    codes = placed.groups * width + substances.groups
    used, groups = np.unique(codes, return_inverse=True)
    pairs: list[Pair | None] = []
    for code in used:
        lens, substance = placed.answers[code // width], substances.answers[code % width]
        pairs.append(None if lens is None or substance is None else (lens, substance))
    made = _made(pairs)
    answers: list[Body | None] = []
    places: dict[Pair | None, int] = {}
    of_pair = np.empty(len(pairs), dtype=np.intp)
    for number, pair in enumerate(pairs):
        of_pair[number] = places.setdefault(pair, len(answers))
        if of_pair[number] == len(answers):
            answers.append(made.get(pair) if pair else None)
    return Column(of_pair[groups], answers)


def _made(pairs: Sequence[Pair | None]) -> dict[Pair, Body]:
    """A body for each pair that can be made; lenses of one shape are worked together."""
    wanted = dict.fromkeys(pair for pair in pairs if pair is not None)
    made: dict[Pair, Body] = {}
    for _, alike in groupby((pair for pair in wanted if pair[0].reading is None), key=lambda pair: id(pair[0].shape)):
        _work(list(alike), made)
    for pair in wanted:
        if pair[0].reading is not None:
            _work_alone(pair, made)
    return made


def _work_alone(pair: Pair, made: dict[Pair, Body]) -> None:
    """Lenses with a full-width segment are few, and cut twice."""
    try:
        body = body_of(*pair)
    except OpticsError:
        return
    made[pair] = Body(pair, *(getattr(body, name) for name in FIGURES))


def _work(pairs: list[Pair], made: dict[Pair, Body]) -> None:
    """Work all together; if any is refused, each half by itself, so that only those that cannot be made are left."""
    try:
        made.update(zip(pairs, _together(pairs), strict=True))
    except OpticsError:
        if len(pairs) > 1:
            half = len(pairs) // 2
            _work(pairs[:half], made)
            _work(pairs[half:], made)


def _together(pairs: list[Pair]) -> list[Body]:
    def each(values: Any) -> Any:
        return np.array(list(values), dtype=np.float64)

    found = lens_bodies(
        pairs[0][0].shape,
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
    return [Body(pair, *values) for pair, values in zip(pairs, figures, strict=True)]
