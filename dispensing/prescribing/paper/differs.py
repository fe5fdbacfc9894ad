"""What is recorded beside what was read off the paper: the figures that differ.

The same power in the other cylinder form is no difference, nor is an eighth written with two decimals; what was not
read says nothing. Must never judge which of the two is right.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from dispensing.optics.conventions import Eye
from dispensing.optics.notation import exact_eighth, format_power
from dispensing.optics.prism import Prism
from dispensing.prescribing.comparison import prism_words
from dispensing.prescribing.eye import MINUS, EyeFigures
from dispensing.prescribing.slips import SAME_D

POWERS = ("sphere", "cylinder", "axis")
ADDS = ("add", "intermediate_add")


@dataclass(frozen=True, slots=True)
class Difference:
    """One figure of one eye: as recorded (None: nothing is), and as read. D, degrees, or Δ for ``prism``.

    ``prism``: the length of what is recorded, and of what was read; they may be alike and lie elsewhere.
    """

    eye: Eye
    name: str
    recorded: float | None
    read: float


def figures_read(eye: Eye, found: Mapping[str, Any]) -> EyeFigures:
    """One eye of a reading, by values: sphere, cylinder, axis, adds, and prism as a list of amounts with bases."""
    total = Prism()
    for one in found.get("prism") or ():
        total = total + Prism.from_base(one["amount"], one["base"])
    parts: dict[str, Any] = {}
    for amount, base in total.written():
        way = "horizontal" if base in ("in", "out") else "vertical"
        parts |= {f"prism_{way}": amount, f"prism_{way}_base": base}
    return EyeFigures.of(eye, {**{name: found.get(name) for name in (*POWERS, *ADDS)}, **parts})


def differences(recorded: EyeFigures, read: EyeFigures) -> list[Difference]:
    """What differs, in the order in which a prescription is written; of the reading, nothing that it does not have."""
    if read.cylinder and recorded.cylinder and read.cylinder * recorded.cylinder < 0:
        read = read.in_form("plus" if recorded.cylinder > 0 else "minus")
    found = [one for name in POWERS if (one := _figure(recorded, read, name)) is not None]
    if read.prism != Prism() and recorded.prism.written() != read.prism.written():
        apart = Prism(recorded.prism.in_pd - read.prism.in_pd, recorded.prism.up_pd - read.prism.up_pd)
        if apart.amount_pd >= SAME_D:
            found.append(Difference(read.eye, "prism", recorded.prism.amount_pd, read.prism.amount_pd))
    return found + [one for name in ADDS if (one := _figure(recorded, read, name)) is not None]


def both_written(found: Difference, recorded: EyeFigures, read: EyeFigures) -> tuple[str, str]:
    """What is recorded and what was read, as people write them; a prism with its bases."""
    if found.name == "prism":
        return prism_words(recorded), prism_words(read)
    ours = "nothing" if found.recorded is None else _written(found.name, found.recorded)
    return ours, _written(found.name, found.read)


def _written(name: str, value: float) -> str:
    return f"{value:g}°" if name == "axis" else format_power(value, minus=MINUS)


def _figure(recorded: EyeFigures, read: EyeFigures, name: str) -> Difference | None:
    theirs, ours = getattr(read, name), getattr(recorded, name)
    if theirs is None or (ours is not None and _same(ours, theirs, name)):
        return None
    if name == "axis" and not (read.cylinder or recorded.cylinder):
        return None
    return Difference(read.eye, name, ours, float(theirs))


def _same(one: float, other: float, name: str) -> bool:
    if name == "axis":
        return one % 180 == other % 180
    return abs(exact_eighth(one) - exact_eighth(other)) < SAME_D
