"""What a slip is, and how it is told: which other figures of the order could show it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from random import Random
from typing import Any

from dispensing.optics.power import SphereCylinder, residual_cylinder
from dispensing.prescribing.uses import comparable_uses
from tests.orders.corpus.clean_orders import CleanOrder
from tests.orders.corpus.writing import EYES

Document = dict[str, Any]
Make = Callable[[CleanOrder, Document, Random], tuple[str, ...] | None]
Tells = Callable[[CleanOrder, Document], bool]

LEAST_FELT_D = 0.25
"""The smallest step of a prescription: less left over of a turned cylinder nobody could have prescribed away."""


def always(order: CleanOrder, document: Document) -> bool:
    """The order contradicts itself, or what the trade knows, whoever the wearer is."""
    return True


def never(order: CleanOrder, document: Document) -> bool:
    """The order with the slip is another good order; only the wearer, the frame or the paper would show it."""
    return False


def power(eye: dict[str, Any]) -> SphereCylinder:
    return SphereCylinder(eye["sphere"], eye["cylinder"] or 0.0, float(eye["axis"] or 180))


def apart(first: dict[str, Any], second: dict[str, Any]) -> float:
    """Distance of two powers in dioptres (mean sphere and both cross cylinders)."""
    return float((power(first).vector() - power(second).vector()).length)


def earlier(order: CleanOrder) -> dict[str, Any] | None:
    """The last prescription, or else the pair worn now if it is for the same distance: readers show near only."""
    document: dict[str, Any] = order.document
    worn, use = document["patient"]["present_spectacles"], document["prescription"]["use"]
    same_distance = worn is not None and order.worn_for in comparable_uses(use)
    return document["previous_prescription"] or (worn if same_distance else None)


def by_earlier(order: CleanOrder, document: Document) -> bool:
    """Only what was worn before shows it: without that, this is another good prescription.

    So it is if the slip lies nearer to what was worn than the truth.
    """
    before = earlier(order)
    if before is None:
        return False
    off, truly = (sum(apart(one["prescription"][e], before[e]) for e in EYES) for one in (document, order.document))
    return off > truly


def by_earlier_axis(order: CleanOrder, document: Document) -> bool:
    """An axis that leaves less than a quarter dioptre of what was worn is as good as another reading of it."""
    before = earlier(order)
    if before is None or not by_earlier(order, document):
        return False
    for eye in EYES:
        now, then = document["prescription"][eye], before[eye]["axis"]
        moved = now["axis"] != order.document["prescription"][eye]["axis"]
        if moved and (then is None or not _is_felt(power(now), power(before[eye]))):
            return False
    return True


def _is_felt(now: SphereCylinder, then: SphereCylinder) -> bool:
    one, other = now.in_minus_cylinder(), then.in_minus_cylinder()
    return residual_cylinder(one.cylinder, one.axis - other.axis) >= LEAST_FELT_D


def by_earlier_or_fellow(order: CleanOrder, document: Document) -> bool:
    """What was worn before, or one eye plus and the other minus."""
    right, left = (power(document["prescription"][eye]).in_minus_cylinder().sphere for eye in EYES)
    return by_earlier(order, document) or right * left < 0.0


def by_another_pd(order: CleanOrder, document: Document) -> bool:
    """A binocular or a near PD beside it shows it; without, it is the PD of another person."""
    fitting = document["fitting"]
    return fitting["binocular_pd_mm"] is not None or fitting["right"]["near_pd_mm"] is not None


def by_the_use(order: CleanOrder, document: Document) -> bool:
    """A near pair whose near PDs were measured is centred without the far ones: nothing is lost."""
    return not (order.pair.is_close and document["fitting"]["right"]["near_pd_mm"] is not None)


def by_the_sum(order: CleanOrder, document: Document) -> bool:
    """A half of the binocular PD in one eye says that the other has the other half: nothing is lost."""
    fitting = document["fitting"]
    if not by_the_use(order, document):
        return False
    given = fitting["right"]["pd_mm"] or fitting["left"]["pd_mm"]
    return fitting["binocular_pd_mm"] is None or abs(fitting["binocular_pd_mm"] / 2.0 - given) > 0.01


def by_the_need_of_an_add(order: CleanOrder, document: Document) -> bool:
    """A single vision pair for the distance needs none, and one for intermediate has its own."""
    return order.pair.kind != "single_vision" or (order.pair.is_close and order.pair.use != "intermediate")


def by_range_or_age(order: CleanOrder, document: Document) -> bool:
    """An add that nobody has, that differs between the eyes, or that is far from what was meant."""
    right, left = (document["prescription"][eye]["add"] for eye in EYES)
    meant = order.document["prescription"]["right"]["add"]
    return right != left or not 0.5 <= right <= 4.0 or abs(right - meant) > 1.25


@dataclass(frozen=True)
class Slip:
    """family: the survey's class. name: what went wrong. make: puts it into a copy of the order.

    can_be_told: whether anything else in the order could show it.
    """

    family: str
    name: str
    make: Make
    can_be_told: Tells


SLIPS: list[Slip] = []


def slip(family: str, name: str, can_be_told: Tells = always) -> Callable[[Make], Make]:
    def register(make: Make) -> Make:
        SLIPS.append(Slip(family, name, make, can_be_told))
        return make

    return register


def slips_in(order: CleanOrder, rng: Random) -> Iterator[tuple[Slip, Document, tuple[str, ...]]]:
    """Every slip that this order has room for, each in a copy of its own, with the keys it is about."""
    for one in SLIPS:
        document = order.copy()
        fields = one.make(order, document, rng)
        if fields is not None and document != order.document:
            yield one, document, fields


def of_eyes(*parts: str) -> tuple[str, ...]:
    """``prescription.add`` → both eyes' keys."""
    return tuple(f"{part.split('.')[0]}.{eye}.{part.split('.')[1]}" for part in parts for eye in EYES)


def one_eye(rng: Random) -> str:
    return rng.choice(EYES)
