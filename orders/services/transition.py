"""Moving an order along its own line of state: the only writer of ``Order.state``."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from dispensing.models import StaffUser
from orders.models import Order
from orders.services.errors import SavedByAnother
from orders.states import Action, NotAllowed, OrderState, after


def move(order: Order, action: Action, *, actor: StaffUser | None, version: int | None = None, **also: Any) -> Order:
    """Change the state by conditional update, inside the caller's transaction; ``also``: fields that go with it.

    ``version``: the count of saves that this is based on. Raises :class:`NotAllowed` where the action cannot
    follow, also when another person moved the order first, and `SavedByAnother` for an older version.
    """
    state = OrderState(order.state)
    wanted = {"state": str(after(state, action)), "saved_by": actor, "saved_at": timezone.now(), **also}
    here = Order.objects.filter(pk=order.pk, state=str(state))
    if version is not None:
        here = here.filter(version=version)
        wanted["version"] = version + 1
    if here.update(**wanted) == 0:
        current = Order.objects.select_related("saved_by").get(pk=order.pk)
        if current.state != str(state):
            raise NotAllowed(OrderState(current.state), action)
        raise SavedByAnother(current, wanted)
    for name, value in wanted.items():
        setattr(order, name, value)
    return order
