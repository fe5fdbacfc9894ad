"""What a catalogue offers for an order: every design in each material, corridor, blank and set of treatments it has.

The order's own treatments stay where the material takes them. Where it does not, or the lab has none of that name, each
of the same kind that it does take stands in their place. This module must never judge. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from orders.documents.lens_catalogue import Design, LensCatalogue, Material, Treatment
from orders.documents.lens_order import LabName, LensesPart, LensOrder, OrderedLens


@dataclass(frozen=True, eq=False)
class Offer:
    """One lens of a catalogue, for both eyes. left_out: treatments of the order for which there is nothing here."""

    catalogue: LensCatalogue
    design: Design
    material: Material
    corridor_mm: float | None
    blank_mm: float | None
    treatments: tuple[str, ...]
    left_out: tuple[str, ...] = ()

    def chosen(self, name: str) -> Any:
        """One key of an ordered lens that this lens decides."""
        value = getattr(self, name)
        return value.id if name in ("design", "material") else value

    @cached_property
    def choice(self) -> dict[str, Any]:
        """The keys of an ordered lens that this lens decides."""
        return {name: self.chosen(name) for name in VARIED}


VARIED = ("design", "material", "corridor_mm", "blank_mm", "treatments")
"""The keys of an ordered lens in which offers differ."""


@dataclass(frozen=True)
class Wanted:
    """One treatment of the order: its code, and its kind if any of the catalogues or the order itself knows it."""

    id: str
    kind: str | None


def to_be_compared(order: LensOrder, lab: str, accounts: Mapping[str, str | None] | None = None) -> LensOrder:
    """The order as it would go to this lab; where no lens is chosen yet, both are wanted."""
    if accounts is not None and accounts.get(lab) != order.practice.account:
        practice = order.practice.model_copy(update={"account": accounts.get(lab)})
        order = order.model_copy(update={"practice": practice})
    lenses = order.lenses
    if not order.ordered_eyes:
        lenses = LensesPart(right=OrderedLens(), left=OrderedLens())
    if lenses is order.lenses and order.lab.name == lab:
        return order
    return order.model_copy(update={"lenses": lenses, "lab": LabName(name=lab)})


def wanted_treatments(order: LensOrder, catalogues: Sequence[LensCatalogue]) -> tuple[Wanted, ...]:
    """The treatments ordered, of the right lens, or of the left one if there is no right one."""
    lens = order.lenses.right or order.lenses.left
    own_first = sorted(catalogues, key=lambda catalogue: catalogue.lab != order.lab.name)
    return tuple(Wanted(id, _kind(id, own_first)) for id in (lens.treatments if lens else ()))


def _kind(id: str, catalogues: Sequence[LensCatalogue]) -> str | None:
    found = (catalogue.treatment(id) for catalogue in catalogues)
    return next((treatment.kind for treatment in found if treatment is not None), None)


def offers(catalogue: LensCatalogue, wanted: Sequence[Wanted]) -> Iterator[Offer]:
    """Every lens of the catalogue, in its own order: design, material, corridor, blank, treatments."""
    coated: dict[str, list[tuple[tuple[str, ...], tuple[str, ...]]]] = {}
    for design in catalogue.designs:
        corridors: list[float | None] = [*dict.fromkeys(row.length_mm for row in design.corridors)] or [None]
        blanks: list[float | None] = [*sorted({row.diameter_mm for row in design.blanks})] or [None]
        for material in materials_of(catalogue, design):
            if material.id not in coated:
                coated[material.id] = list(_coatings(catalogue, material, wanted))
            for corridor in corridors:
                for blank in blanks:
                    for chosen, left_out in coated[material.id]:
                        yield Offer(catalogue, design, material, corridor, blank, chosen, left_out)


def materials_of(catalogue: LensCatalogue, design: Design) -> list[Material]:
    """A design that lists no materials comes in every material in the catalogue, as in the check."""
    if not design.materials:
        return list(catalogue.materials)
    listed = (catalogue.material(id) for id in dict.fromkeys(design.materials))
    return [material for material in listed if material is not None]


def _coatings(
    catalogue: LensCatalogue, material: Material, wanted: Sequence[Wanted]
) -> Iterator[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Each set of treatments that this material takes, and what is left out of the order's own. Never none at all."""
    sets: list[tuple[tuple[Treatment, ...], tuple[str, ...]]] = [((), ())]
    for one in wanted:
        longer = []
        for chosen, left_out in sets:
            fitting = [like for like in _like(catalogue, material, one) if _goes_with(like, chosen)]
            longer += [((*chosen, like), left_out) for like in fitting] or [(chosen, (*left_out, one.id))]
        sets = longer
    seen = dict.fromkeys((tuple(treatment.id for treatment in chosen), left_out) for chosen, left_out in sets)
    yield from seen


def _like(catalogue: LensCatalogue, material: Material, one: Wanted) -> list[Treatment]:
    own = catalogue.treatment(one.id)
    if own is not None and _takes(material, own):
        return [own]
    kind = own.kind if own is not None else one.kind
    return [other for other in catalogue.treatments if other.kind == kind and _takes(material, other)]


def _takes(material: Material, treatment: Treatment) -> bool:
    return not treatment.materials or material.id in treatment.materials


def _goes_with(treatment: Treatment, chosen: Sequence[Treatment]) -> bool:
    return not any(
        treatment.id == other.id or other.id in treatment.excludes or treatment.id in other.excludes for other in chosen
    )
