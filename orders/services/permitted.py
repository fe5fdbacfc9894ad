"""Who may note what of an order. A decision on a finished pair is a dispenser's or a manager's; the rest is anybody's.

Pages, the API and the services that write all read it here.
"""

from __future__ import annotations

from collections.abc import Iterable

from dispensing.access import can
from dispensing.models import StaffUser
from dispensing.roles import Ability
from orders.progress import BY_HAND, DECIDED, EventKind

DECIDES = Ability.ORDER_EDIT


class NotTheirs(Exception):
    """What happened is not for this person to note."""

    def __init__(self, kind: EventKind):
        super().__init__(
            f"“{BY_HAND[kind]}” is a decision on the finished pair: a dispenser or a manager makes it. Ask one of them."
        )


def ability_to_note(kind: EventKind) -> Ability:
    return DECIDES if kind in DECIDED else Ability.ORDER_VIEW


def theirs(person: StaffUser, kinds: Iterable[EventKind]) -> tuple[EventKind, ...]:
    """Those of the kinds that this person may note."""
    return tuple(kind for kind in kinds if can(person, ability_to_note(kind)))


def require_theirs(person: StaffUser, kind: EventKind) -> None:
    """Raise `NotTheirs` unless this person may note it."""
    if not can(person, ability_to_note(kind)):
        raise NotTheirs(kind)
