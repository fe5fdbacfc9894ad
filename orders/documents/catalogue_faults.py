"""Faults in a catalogue that parses but is not consistent: codes used twice, or referred to but not defined."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from dispensing.documents import Fault
from orders.documents.lens_catalogue import Design, LensCatalogue, Treatment


def faults_in(catalogue: LensCatalogue) -> Iterator[Fault]:
    """Each fault with its JSON path. No faults: every code is defined once, and every code referred to exists."""
    materials = {material.id for material in catalogue.materials}
    treatments = {treatment.id for treatment in catalogue.treatments}
    for name in ("materials", "designs", "treatments"):
        yield from _repeated(name, [part.id for part in getattr(catalogue, name)])
    for place, design in enumerate(catalogue.designs):
        yield from _design(f"$.designs[{place}]", design, materials)
    for place, treatment in enumerate(catalogue.treatments):
        yield from _treatment(f"$.treatments[{place}]", treatment, materials, treatments)
    designs = {design.id for design in catalogue.designs}
    for place, price in enumerate(catalogue.prices):
        for name, known in (("design", designs), ("material", materials), ("treatment", treatments)):
            code = getattr(price, name)
            if code is not None and code not in known:
                yield Fault(f"$.prices[{place}].{name}", f'there is no {name} "{code}" in this catalogue')


def _repeated(name: str, codes: list[str]) -> Iterator[Fault]:
    seen: set[str] = set()
    for place, code in enumerate(codes):
        if code in seen:
            yield Fault(f"$.{name}[{place}].id", f'"{code}" appears twice; an order could not say which is meant')
        seen.add(code)


def _design(path: str, design: Design, materials: set[str]) -> Iterator[Fault]:
    yield from _unknown(f"{path}.materials", design.materials, materials, "material")
    for name in ("sphere", "add"):
        span = getattr(design, name)
        if span is not None and span[0] > span[1]:
            yield Fault(f"{path}.{name}", f"runs from {span[0]:g} to {span[1]:g}; the smaller figure comes first")


def _treatment(path: str, treatment: Treatment, materials: set[str], treatments: set[str]) -> Iterator[Fault]:
    yield from _unknown(f"{path}.materials", treatment.materials, materials, "material")
    yield from _unknown(f"{path}.excludes", treatment.excludes, treatments, "treatment")


def _unknown(path: str, named: Iterable[str], known: set[str], word: str) -> Iterator[Fault]:
    for place, code in enumerate(named):
        if code not in known:
            yield Fault(f"{path}[{place}]", f'there is no {word} "{code}" in this catalogue')
