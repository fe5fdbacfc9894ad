"""Why a catalogue that parses cannot be used: codes used twice or not defined, nothing to order, figures that no lens
has. Nobody can confirm these away. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from dispensing.documents import Fault
from orders.catalogues.figures import KINDS, figures_in, named
from orders.documents.lens_catalogue import Design, LensCatalogue, PriceRow, Treatment
from orders.rules.words import number

CURRENCY = re.compile(r"[A-Z]{3}")


def faults_in(catalogue: LensCatalogue) -> Iterator[Fault]:
    """Each fault with its JSON path. No faults: there are lenses to order, every code is defined once, every code
    referred to exists, and every figure is one that a lens can have.
    """
    for kind in KINDS:
        yield from _codes(catalogue, kind)
    yield from _nothing_to_order(catalogue)
    materials = {material.id for material in catalogue.materials}
    treatments = {treatment.id for treatment in catalogue.treatments}
    for place, design in enumerate(catalogue.designs):
        yield from _design(f"$.designs[{place}]", design, materials)
    for place, treatment in enumerate(catalogue.treatments):
        yield from _treatment(f"$.treatments[{place}]", treatment, materials, treatments)
    yield from _prices(catalogue)
    yield from _impossible_figures(catalogue)


def _codes(catalogue: LensCatalogue, kind: str) -> Iterator[Fault]:
    seen: set[str] = set()
    for place, part in enumerate(getattr(catalogue, kind)):
        if not part.id.strip():
            yield Fault(f"$.{kind}[{place}].id", f"is empty; no order could name the {named(kind, part, place)}")
        elif part.id in seen:
            yield Fault(f"$.{kind}[{place}].id", f'"{part.id}" appears twice; an order could not say which is meant')
        if not part.name.strip():
            yield Fault(f"$.{kind}[{place}].name", f"is empty; nobody could choose this {KINDS[kind]}")
        seen.add(part.id)


def _nothing_to_order(catalogue: LensCatalogue) -> Iterator[Fault]:
    for kind in ("designs", "materials"):
        if not getattr(catalogue, kind):
            yield Fault(f"$.{kind}", "is empty, so that no lens could be ordered from this catalogue")


def _design(path: str, design: Design, materials: set[str]) -> Iterator[Fault]:
    yield from _unknown(f"{path}.materials", design.materials, materials, "material")
    for name in ("sphere", "add"):
        span = getattr(design, name)
        if span is not None:
            yield from _upside_down(f"{path}.{name}", span[0], span[1])
    for place, row in enumerate(design.base_curves):
        yield from _upside_down(f"{path}.base_curves[{place}]", row.from_d, row.to_d)


def _upside_down(path: str, first: float, last: float) -> Iterator[Fault]:
    if first > last:
        yield Fault(path, f"runs from {number(first)} to {number(last)}; the smaller figure comes first")


def _treatment(path: str, treatment: Treatment, materials: set[str], treatments: set[str]) -> Iterator[Fault]:
    yield from _unknown(f"{path}.materials", treatment.materials, materials, "material")
    yield from _unknown(f"{path}.excludes", treatment.excludes, treatments, "treatment")


def _unknown(path: str, codes: Iterable[str], known: set[str], word: str) -> Iterator[Fault]:
    for place, code in enumerate(codes):
        if code not in known:
            yield Fault(f"{path}[{place}]", f'there is no {word} "{code}" in this catalogue')


def _prices(catalogue: LensCatalogue) -> Iterator[Fault]:
    known = {word: {part.id for part in getattr(catalogue, kind)} for kind, word in KINDS.items()}
    seen: set[tuple[str | None, ...]] = set()
    for place, price in enumerate(catalogue.prices):
        path, names = f"$.prices[{place}]", (price.design, price.material, price.treatment)
        for word in known:
            code = getattr(price, word)
            if code is not None and code not in known[word]:
                yield Fault(f"{path}.{word}", f'there is no {word} "{code}" in this catalogue')
        if names in seen:
            yield Fault(path, "is a second price for the same design, material and treatment")
        seen.add(names)
        yield from _currency(path, price)


def _currency(path: str, price: PriceRow) -> Iterator[Fault]:
    if price.amount is not None and not CURRENCY.fullmatch(price.currency or ""):
        yield Fault(f"{path}.currency", 'must be three capital letters (ISO 4217), as in "EUR"')


def _impossible_figures(catalogue: LensCatalogue) -> Iterator[Fault]:
    for stated in figures_in(catalogue):
        figure = stated.figure
        if not figure.is_possible(stated.value):
            found = f"{stated.named} is {stated.written}; it can be {figure.within(figure.possible)}"
            yield Fault(stated.path, found)
