"""How one lens differs from another, in words that a patient understands. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from orders.options.lenses.comparison import LensRow
from orders.options.lenses.meaning import bodies_of, is_noticed, protection, thickest, worst_fringe
from orders.options.lenses.prices import Cost
from orders.rules import words

ALIKE = "no difference that can be seen or felt"
SEEN_MM = 0.1
FELT_G = 0.5


def differences(row: LensRow, other: LensRow) -> tuple[str, ...]:
    """``1.1 mm thinner at the temple``, ``4 g lighter``: how `row` differs from `other`, most visible first.

    Thickness is compared where the other lens is thickest. What is not known of either lens is said to be so.
    """
    said = (*_thickness(row, other), *_weight(row, other), *_fringe(row, other), *_blow(row, other))
    return (*(said or (ALIKE,)), *_price(row.cost, other.cost))


def _thickness(row: LensRow, other: LensRow) -> Iterator[str]:
    place, bodies = thickest(other), bodies_of(row)
    if place is None or place.eye not in bodies:
        yield "thickness not known"
        return
    body = bodies[place.eye]
    here = body.centre_thickness_mm if place.corner is None else float(body.edge_mm[place.corner])
    apart = round(here - place.mm, 1)
    if abs(apart) >= SEEN_MM:
        yield f"{words.mm(abs(apart))} {'thicker' if apart > 0.0 else 'thinner'} {place.where}"


def _weight(row: LensRow, other: LensRow) -> Iterator[str]:
    now, then = row.weight_pair_g, other.weight_pair_g
    if now is None or then is None:
        if row.case.is_pair:
            yield "weight not known"
        return
    apart = now - then
    if abs(apart) >= FELT_G:
        yield f"{abs(apart):.0f} g {'heavier' if apart > 0.0 else 'lighter'}"


def _fringe(row: LensRow, other: LensRow) -> Iterator[str]:
    now, then = worst_fringe(row.case), worst_fringe(other.case)
    if now is not None and then is not None and is_noticed(now) != is_noticed(then):
        yield f"{'more' if now > then else 'less'} colour at the edges of things"


def _blow(row: LensRow, other: LensRow) -> Iterator[str]:
    now, then = protection(row), protection(other)
    if now and then and now != then:
        yield now


def _price(now: Cost | None, then: Cost | None) -> Iterator[str]:
    if now is None or then is None or now.price.currency != then.price.currency or now.total == then.total:
        return
    apart = now.total - then.total
    yield f"{abs(apart):.2f} {now.price.currency} {'more' if apart > 0 else 'less'}"
