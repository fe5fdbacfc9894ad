"""Every figure that a catalogue states, with its place in the file and in words. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from dispensing.trade.catalogue_figures import CatalogueFigure, catalogue_figures
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.names import MOUNTS

KINDS: Mapping[str, Literal["material", "design", "treatment"]] = {
    "materials": "material",
    "designs": "design",
    "treatments": "treatment",
}


@dataclass(frozen=True)
class Stated:
    """One figure. path: its JSON path. owner: the part that states it, in words. where: which of several it is."""

    figure: CatalogueFigure
    value: float
    path: str
    owner: str
    where: str = ""

    @property
    def named(self) -> str:
        """``Minimum edge, drilled, of the material “Plastic 1.60”``."""
        words = self.figure.words
        return f"{words[0].upper()}{words[1:]}{f', {self.where},' if self.where else ''} of the {self.owner}"

    @property
    def written(self) -> str:
        return self.figure.written(self.value)


def figures_in(catalogue: LensCatalogue) -> Iterator[Stated]:
    """Every figure that has bounds and is given, part by part."""
    for figure in catalogue_figures():
        for path, owner, part in _parts(catalogue, figure.of):
            for step, where, value in _values(getattr(part, figure.key)):
                yield Stated(figure, value, f"{path}.{figure.key}{step}", owner, where)


def named(kind: str, part: Any, place: int) -> str:
    """A part in words: ``design “Progressive A”``; by its code or its place where it has no name."""
    if kind == "prices":
        return f"price in row {place + 1}"
    name = part.name.strip() or part.id.strip()
    return f"{KINDS[kind]} “{name}”" if name else f"{KINDS[kind]} in row {place + 1}"


def _parts(catalogue: LensCatalogue, of: str) -> Iterator[tuple[str, str, Any]]:
    kind, _, inner = of.partition(".")
    for place, part in enumerate(getattr(catalogue, kind)):
        path, owner = f"$.{kind}[{place}]", named(kind, part, place)
        if not inner:
            yield path, owner, part
            continue
        held = getattr(part, inner)
        if isinstance(held, tuple):
            for number, one in enumerate(held):
                yield f"{path}.{inner}[{number}]", owner, one
        elif held is not None:
            yield f"{path}.{inner}", owner, held


def _values(value: Any) -> Iterator[tuple[str, str, float]]:
    if isinstance(value, tuple):
        for place, (one, which) in enumerate(zip(value, ("from", "to"), strict=True)):
            yield f"[{place}]", which, one
    elif isinstance(value, Mapping):
        for mount, one in value.items():
            if one is not None:
                yield f".{mount}", MOUNTS[mount], one
    elif value is not None:
        yield "", "", value
