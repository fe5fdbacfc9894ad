"""The order of a patient that somebody at the practice is waiting to go on with, in words for one button."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from dispensing.roles import Ability
from orders.models import Order
from orders.progress import Place

WAITS_FOR_US: dict[Place, tuple[Ability, str]] = {
    Place.READY: (Ability.ORDER_VIEW, "Hand over {number}"),
    Place.TO_TELL: (Ability.ORDER_VIEW, "Tell the patient: {number} is here"),
    Place.TO_CHECK: (Ability.ORDER_VIEW, "Check the pair of {number}"),
    Place.QUERY_OPEN: (Ability.ORDER_VIEW, "Answer the lab about {number}"),
    Place.REFUSED: (Ability.ORDER_VIEW, "See why the lab refused {number}"),
    Place.DRAFT: (Ability.ORDER_EDIT, "Go on with draft {number}"),
}
"""The places at which an order waits for the practice, nearest to the wearer first, and who can go on with it."""


@dataclass(frozen=True)
class Waiting:
    order: Order
    words: str


def waiting(orders: Sequence[Order], abilities: Collection[Ability]) -> Waiting | None:
    """The order to go on with: nearest to the wearer first, of several at one place the first in the list."""
    for place, (ability, words) in WAITS_FOR_US.items():
        order = next((order for order in orders if order.place == place), None)
        if order is not None and ability in abilities:
            return Waiting(order, words.format(number=order.number))
    return None
