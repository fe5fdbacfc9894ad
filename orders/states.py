"""The states of an order: one table of what may follow what. Pure: it knows no Django model.

Progress at the lab and deliveries are separate; see :mod:`orders.progress` and the delivery model.
"""

from __future__ import annotations

from enum import StrEnum


class OrderState(StrEnum):
    DRAFT = "draft"
    SENT = "sent"
    CANCELLED = "cancelled"
    SUPERSEDED = "superseded"


class Action(StrEnum):
    SEND = "send"
    CANCEL = "cancel"
    SUPERSEDE = "supersede"


TRANSITIONS: dict[tuple[OrderState, Action], OrderState] = {
    (OrderState.DRAFT, Action.SEND): OrderState.SENT,
    (OrderState.DRAFT, Action.CANCEL): OrderState.CANCELLED,
    (OrderState.SENT, Action.CANCEL): OrderState.CANCELLED,
    (OrderState.SENT, Action.SUPERSEDE): OrderState.SUPERSEDED,
}

LABELS: dict[OrderState, str] = {
    OrderState.DRAFT: "Draft",
    OrderState.SENT: "Sent",
    OrderState.CANCELLED: "Cancelled",
    OrderState.SUPERSEDED: "Superseded",
}


class NotAllowed(ValueError):
    """The action is not possible in the order's present state."""

    def __init__(self, state: OrderState, action: Action):
        self.state, self.action = state, action
        super().__init__(f"An order that is {LABELS[state].lower()} cannot be {_PAST[action]}.")


_PAST = {Action.SEND: "sent", Action.CANCEL: "cancelled", Action.SUPERSEDE: "superseded"}


def after(state: OrderState, action: Action) -> OrderState:
    """The state that follows; raises :class:`NotAllowed` if the action is not possible."""
    try:
        return TRANSITIONS[state, action]
    except KeyError:
        raise NotAllowed(state, action) from None
