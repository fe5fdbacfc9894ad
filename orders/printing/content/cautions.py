"""Cautions that go with the order where they apply: road use, protected wearers, impact, what the lab must match."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from orders.documents import words
from orders.documents.lens_order import LensOrder, OrderedLens

# ISO 8980-3 and ISO 12312-1: below 75 % a lens is not for driving at night, at 8 % or less not for driving at all.
NIGHT_DRIVING_LEAST = 0.75
DRIVING_LEAST = 0.08
# UK General Optical Council rules: a wearer below 16 is dispensed by or under a registered person.
CHILD_BELOW_AGE = 16


def cautions(order: LensOrder) -> tuple[str, ...]:
    """One sentence each, the most important first."""
    return tuple(dict.fromkeys([*_wearer(order), *_impact(order), *_road(order), *_handling(order)]))


def _lenses(order: LensOrder) -> list[OrderedLens]:
    return [lens for lens in (order.lenses.right, order.lenses.left) if lens is not None]


def _road(order: LensOrder) -> Iterator[str]:
    shares = [share for lens in _lenses(order) for share in _transmittances(lens)]
    darkest = min(shares, default=1.0)
    if darkest <= DRIVING_LEAST:
        yield f"Luminous transmittance {darkest:.0%}: not suitable for driving and road use. Label the pair so."
    elif darkest < NIGHT_DRIVING_LEAST:
        yield f"Luminous transmittance {darkest:.0%}: not suitable for driving in twilight or at night."


def _transmittances(lens: OrderedLens) -> list[float]:
    stated = words.extra_of(lens, "luminous_transmittances")
    return [share for share in stated if isinstance(share, float)] if isinstance(stated, list) else []


def _age(born_on: date | None, on: date | None) -> int | None:
    if born_on is None or on is None or on < born_on:
        return None
    return on.year - born_on.year - ((on.month, on.day) < (born_on.month, born_on.day))


def _is_child(order: LensOrder) -> bool:
    age = _age(order.patient.born_on, order.ordered_on)
    return age is not None and age < CHILD_BELOW_AGE


def _wearer(order: LensOrder) -> Iterator[str]:
    if _is_child(order):
        yield "For a child: protected wearer, checked by a registered person before supply."
    elif order.patient.protected:
        yield "For a sight-impaired person: protected wearer, checked by a registered person before supply."


def _impact(order: LensOrder) -> Iterator[str]:
    if (order.practice.country or "").upper().startswith("US"):
        yield "Impact resistance to 21 CFR 801.410; test as the rule asks."
    lenses = _lenses(order)
    if _is_child(order) and any(words.extra_of(lens, "impact_resistant") is False for lens in lenses):
        yield "For a child in a material that is not impact-resistant: ask before making them."


def _handling(order: LensOrder) -> Iterator[str]:
    if order.frame.source == "to_follow":
        yield f"The frame follows; it carries the number {order.number or 'of this order'}."
    if order.frame.source == "own":
        yield "Patient's own frame: used, handle with care."
    eyes = order.ordered_eyes
    if len(eyes) == 1:
        yield f"{eyes[0].capitalize()} lens only: match the lens that stays in the frame."
    for eye in eyes:
        lens = order.lenses.eye(eye)
        if lens is not None and lens.instruction is not None:
            words_of = {"balance": "balance lens", "occluder": "occluder", "frosted": "frosted lens"}
            yield f"{eye.capitalize()} eye: {words_of[lens.instruction]}."
