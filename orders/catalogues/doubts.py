"""What is unusual in a catalogue that can be used: each figure that somebody confirms by name before it is. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from orders.catalogues.figures import KINDS, figures_in
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.words import day


@dataclass(frozen=True)
class Doubt:
    """path: the JSON path of what is doubted, by which it is confirmed. says: the doubt in a whole sentence."""

    path: str
    says: str


def doubts_in(catalogue: LensCatalogue, against: date | None = None) -> tuple[Doubt, ...]:
    """Everything to be confirmed before this catalogue is used. against: the issue date of the one in use, where this
    one has never been in use before.
    """
    return (*_older(catalogue, against), *_alike_names(catalogue), *_unusual_figures(catalogue))


def _older(catalogue: LensCatalogue, against: date | None) -> Iterator[Doubt]:
    issued = catalogue.issued_on
    if against is not None and issued is not None and issued < against:
        was = f"It was issued on {day(issued)}, before the one in use, which is of {day(against)}."
        yield Doubt("$.issued_on", was)


def _alike_names(catalogue: LensCatalogue) -> Iterator[Doubt]:
    for kind, word in KINDS.items():
        seen: dict[str, str] = {}
        for place, part in enumerate(getattr(catalogue, kind)):
            name = part.name.strip()
            first = seen.setdefault(name.casefold(), part.id)
            if first != part.id:
                says = f"Two {word}s are called “{name}”: {first} and {part.id}. Nobody could tell them apart."
                yield Doubt(f"$.{kind}[{place}].name", says)


def _unusual_figures(catalogue: LensCatalogue) -> Iterator[Doubt]:
    for stated in figures_in(catalogue):
        figure = stated.figure
        if not figure.is_usual(stated.value):
            yield Doubt(stated.path, f"{stated.named} is {stated.written}; usual is {figure.within(figure.usual)}.")
