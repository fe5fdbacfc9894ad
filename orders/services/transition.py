"""Moves an order from state to state: the only writer of ``Order.state``."""

from __future__ import annotations

from typing import Any

from django.db.models import F
from django.utils import timezone

from dispensing.models import StaffUser
from orders.models import Order
from orders.services.errors import saved_meanwhile
from orders.states import Action, NotAllowed, OrderState, after


def move(order: Order, action: Action, *, actor: StaffUser | None, version: int | None = None, **also: Any) -> Order:
    """Change the state by conditional update, inside the caller's transaction; ``also``: fields that go with it.

    ``version``: the version that the person saw; every move makes the next one. Raises :class:`NotAllowed` if the
    action cannot follow, including when another person moved the order first, and `ChangedMeanwhile` for an older
    version.
    """
    state = OrderState(order.state)
    wanted = {"state": str(after(state, action)), "saved_by": actor, "saved_at": timezone.now(), **also}
    here = Order.objects.filter(pk=order.pk, state=str(state))
    if version is not None:
        here = here.filter(version=version)
    if here.update(**wanted, version=F("version") + 1) == 0:
        now = Order.objects.values_list("state", flat=True).get(pk=order.pk)
        if now != str(state):
            raise NotAllowed(OrderState(now), action)
        raise saved_meanwhile(order.pk, {})
    for name, value in wanted.items():
        setattr(order, name, value)
    order.refresh_from_db(fields=["version"])
    return order
