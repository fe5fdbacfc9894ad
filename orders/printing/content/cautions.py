"""Cautions printed with the order when they apply: road use, protected wearers, impact, what the lab must match."""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.optics.rounding import at_most, less_than
from dispensing.trade import Limits
from dispensing.trade.light import transmittance_percent
from orders.documents import words
from orders.documents.lens_order import LensOrder, OrderedLens
from orders.documents.names import INSTRUCTIONS


def cautions(order: LensOrder) -> tuple[str, ...]:
    """One sentence each, most important first; they use the practice's own limits if the document gives any."""
    limits = Limits.stated(words.extra_of(order.practice, "limits"))
    found = [*_wearer(order, limits), *_impact(order, limits), *road(order, limits), *_handling(order)]
    return tuple(dict.fromkeys(found))


def _lenses(order: LensOrder) -> list[OrderedLens]:
    return [lens for lens in (order.lenses.right, order.lenses.left) if lens is not None]


def road(order: LensOrder, limits: Limits) -> Iterator[str]:
    """The caution for the darkest lens with all its treatments, judged as in the check."""
    shares = (transmittance_percent(_transmittances(lens), lens.colour) for lens in _lenses(order))
    darkest = min((share for share in shares if share is not None), default=None)
    if darkest is None:
        return
    light = words.figure(darkest, "%", 0)
    if at_most(darkest, limits.of("category-four", "transmittance_percent")):
        yield f"Luminous transmittance {light}: not suitable for driving and road use. Label the pair so."
    elif less_than(darkest, limits.of("night-driving", "transmittance_percent")):
        yield f"Luminous transmittance {light}: not suitable for driving in twilight or at night."


def _transmittances(lens: OrderedLens) -> list[float]:
    stated = words.extra_of(lens, "luminous_transmittances")
    figures = stated if isinstance(stated, list) else []
    return [one for one in figures if isinstance(one, int | float) and not isinstance(one, bool)]


def _is_below(order: LensOrder, years: float) -> bool:
    return order.wearer_age is not None and order.wearer_age < years


def _wearer(order: LensOrder, limits: Limits) -> Iterator[str]:
    if _is_below(order, limits.of("protected-patient", "below_years")):
        yield "For a child: protected wearer, checked by a registered person before supply."
    elif order.patient.protected:
        yield "For a sight-impaired person: protected wearer, checked by a registered person before supply."


def _impact(order: LensOrder, limits: Limits) -> Iterator[str]:
    if (order.practice.country or "").upper().startswith("US"):
        yield "Impact resistance to 21 CFR 801.410; test as the rule asks."
    years = limits.of("impact-need", "below_years")
    if _is_below(order, years) and any(words.extra_of(lens, "impact_resistant") is False for lens in _lenses(order)):
        yield f"For a wearer below {years:g} in a material that is not impact-resistant: ask before making them."


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
            yield f"{eye.capitalize()} eye: {INSTRUCTIONS[lens.instruction]}."
