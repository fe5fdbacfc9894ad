"""Orders by their number, for every search on every page."""

from __future__ import annotations

from django.urls import reverse

from dispensing.finding import Found, finder
from dispensing.roles import Ability
from orders.order_numbers import names_its_series
from orders.queries import orders_of_number


@finder
def orders_found(text: str) -> list[Found]:
    """The orders that the text is a number of."""
    return [
        Found(
            words=f"Order {order.number}: {order.place}",
            url=reverse("order-page", args=[order.public_id]),
            ability=Ability.ORDER_VIEW,
            sure=names_its_series(text),
        )
        for order in orders_of_number(text)
    ]
