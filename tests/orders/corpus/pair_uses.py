"""What a clean order says of the pair to be made: its use, its PDs, and the powers where a dispenser states them."""

from __future__ import annotations

import copy
import math
from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from typing import Any

from dispensing.optics.power import SphereCylinder
from dispensing.optics.tilt import power_to_order
from dispensing.optics.vertex import at_vertex
from orders.documents.lens_catalogue import LensCatalogue
from tests.orders.corpus.wearers import Wearer, along_180
from tests.orders.corpus.writing import EYES

Eyes = dict[str, dict[str, Any]]

STRONG_D = 5.0
"""From here on a careful dispenser carries the power, unless the lab does."""


@dataclass(frozen=True)
class Pair:
    """kind: of the lens. written: what the prescription is for. use: what the order says the pair is for, if it does.

    working_mm: how far away it is used, where that was asked.
    """

    kind: str
    written: str
    use: str | None
    working_mm: int | None

    @property
    def is_close(self) -> bool:
        """A whole lens for near or intermediate, centred by the near PD."""
        return self.kind == "single_vision" and (self.use or self.written) in ("near", "intermediate")

    @property
    def is_from_whole_prescription(self) -> bool:
        return self.written == "distance_and_near"


SHARES: tuple[tuple[float, str, str, tuple[str | None, ...]], ...] = (
    (0.56, "progressive", "distance_and_near", (None, "distance_and_near")),
    (0.11, "bifocal", "distance_and_near", (None, "distance_and_near")),
    (0.06, "office", "distance_and_near", (None, "intermediate")),
    (0.04, "single_vision", "near", (None, "near")),
    (0.08, "single_vision", "distance_and_near", ("near",)),
    (0.03, "single_vision", "distance_and_near", ("intermediate",)),
    (0.05, "single_vision", "distance_and_near", ("distance",)),
    (0.07, "single_vision", "distance", (None, "distance")),
)
"""Of the orders of presbyopes: the share, the lens, what the prescription is for, and what the order may say."""

READING_MM, SCREEN_MM, DESK_MM = (400, 400, 400, 350), (650, 700), 600


def pair(rng: Random, person: Wearer) -> Pair:
    if person.near_add is None:
        return Pair("single_vision", "distance", rng.choice((None, "distance")), None)
    shares = [row[0] for row in SHARES]
    _, kind, written, uses = rng.choices(SHARES, shares)[0]
    if kind == "office" and person.near_add < 1.0:
        kind = "progressive"
    use = rng.choice(uses)
    return Pair(kind, written, use, _working_mm(rng, kind, use or written))


def _working_mm(rng: Random, kind: str, use: str) -> int | None:
    if kind == "office":
        return DESK_MM
    if use == "intermediate":
        return rng.choice(SCREEN_MM)
    # Where a pair is for the distance, two in five ask all the same how far away the wearer reads.
    return None if use == "distance" and rng.random() < 0.6 else rng.choice(READING_MM)


def prescribed(person: Wearer, pair: Pair) -> Eyes:
    """The prescription as it is written: with its adds, or for near with the add in the sphere."""
    return _written(person.eyes, person.near_add, pair)


def prescribed_before(person: Wearer, pair: Pair) -> Eyes | None:
    return person.previous and _written(person.previous, person.earlier_add, pair, with_screen=False)


def _written(eyes: Eyes, add: float | None, pair: Pair, *, with_screen: bool = True) -> Eyes:
    result = copy.deepcopy(eyes)
    for eye in result.values() if add is not None else ():
        if pair.written == "near":
            eye["sphere"] += add
        elif pair.is_from_whole_prescription:
            eye["add"] = add
            if with_screen and pair.use == "intermediate" and pair.kind == "single_vision":
                eye["intermediate_add"] = math.ceil(2.0 * (add or 0.0)) / 4.0
    return result


def to_be_made(eyes: Eyes, pair: Pair) -> Eyes:
    """The powers of the lenses."""
    made = copy.deepcopy(eyes)
    if pair.is_close and pair.is_from_whole_prescription:
        for eye in made.values():
            eye["sphere"] += eye["add"] if pair.use == "near" else eye["intermediate_add"]
            eye["add"] = None
    return made


def near_pds(rng: Random, pair: Pair, pd: dict[str, float], vertex: float, eyes: Eyes) -> dict[str, float | None]:
    """Measured for most near pairs, some multifocals, and distance pairs with a reading pair beside them."""
    share = 0.6 if pair.is_close else 0.3 if pair.is_from_whole_prescription else 0.0
    if pair.working_mm is None or rng.random() >= share:
        return dict.fromkeys(EYES)
    return {eye: near_pd(pd[eye], vertex, pair.working_mm, along_180(eyes[eye])) for eye in EYES}


def near_pd(far: float, vertex: float, reading: float, power: float) -> float:
    """By similar triangles through the centre of rotation, to the half millimetre."""
    s = vertex + 13.5
    return round(2.0 * (far - far / (1.0 + reading * (1.0 / s - power / 1000.0)))) / 2.0


def worn_vertex(rng: Random, made: Eyes) -> float:
    """Strong lenses are measured as they sit; others sit near where they were tested, or nobody looks closely."""
    strong = max(strongest(eye) for eye in made.values()) >= STRONG_D
    return round((rng.uniform(12.0, 15.0) if strong else rng.uniform(12.0, 13.5)) * 2.0) / 2.0


def strongest(eye: dict[str, Any]) -> float:
    return float(max(abs(eye["sphere"]), abs(eye["sphere"] + (eye["cylinder"] or 0.0))))


def state_powers(rng: Random, document: dict[str, Any], made: Eyes, catalogue: LensCatalogue) -> None:
    """Carries strong powers in lenses that are made as ordered; some dispensers state other powers as well."""
    design = catalogue.design(document["lenses"]["right"]["design"])
    as_ordered = design is not None and not design.compensated
    if as_ordered and max(strongest(eye) for eye in made.values()) >= STRONG_D:
        basis, carry = ("as_worn", compensated) if rng.random() < 0.2 else ("carried_to_vertex", carried)
        write_powers(document, made, carry, catalogue)
        document["power_basis"] = basis
    elif rng.random() < (0.4 if document.get("use") in ("near", "intermediate") else 0.08):
        write_powers(document, made, as_is, catalogue)
        document["power_basis"] = rng.choice((None, "as_prescribed"))


Carry = Callable[[dict[str, Any], str, SphereCylinder, LensCatalogue], SphereCylinder]


def write_powers(document: dict[str, Any], made: Eyes, carry: Carry, catalogue: LensCatalogue) -> None:
    """State both powers, in the cylinder form of the prescription and to an eighth of a dioptre."""
    for eye in EYES:
        power = SphereCylinder(made[eye]["sphere"], made[eye]["cylinder"] or 0.0, float(made[eye]["axis"] or 180))
        document["lenses"][eye]["power"] = written_power(carry(document, eye, power, catalogue), power.cylinder > 0.0)


def written_power(power: SphereCylinder, in_plus: bool) -> dict[str, Any]:
    power = power.in_plus_cylinder() if in_plus else power.in_minus_cylinder()
    cylinder = round(power.cylinder * 8.0) / 8.0
    axis = round(power.axis) % 180 or 180
    return {
        "sphere": round(power.sphere * 8.0) / 8.0,
        "cylinder": cylinder or None,
        "axis": axis if cylinder else None,
    }


def as_is(document: dict[str, Any], eye: str, power: SphereCylinder, catalogue: LensCatalogue) -> SphereCylinder:
    return power


def carried(document: dict[str, Any], eye: str, power: SphereCylinder, catalogue: LensCatalogue) -> SphereCylinder:
    return at_vertex(power, document["prescription"]["vertex_mm"], document["fitting"][eye]["vertex_mm"])


def compensated(document: dict[str, Any], eye: str, power: SphereCylinder, catalogue: LensCatalogue) -> SphereCylinder:
    fitting, material = document["fitting"], catalogue.material(document["lenses"][eye]["material"])
    assert material is not None
    return power_to_order(
        power,
        eye="right" if eye == "right" else "left",
        index=material.index,
        pantoscopic_deg=fitting["pantoscopic_deg"],
        face_form_deg=fitting["face_form_deg"],
        tested_vertex_mm=document["prescription"]["vertex_mm"],
        worn_vertex_mm=fitting[eye]["vertex_mm"],
    )
