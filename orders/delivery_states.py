"""The states of a delivery: one table of what may be done with it in each state. Pure: it knows no Django model.

``orders/services/deliveries.py`` is the only writer. A delivery whose outcome is unknown is never resent
automatically: making a second pair for one patient costs more than a telephone call. Only where the way itself has the
lab refuse what it has already is an attempt repeated that may have arrived.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from enum import StrEnum


class DeliveryState(StrEnum):
    QUEUED = "queued"
    SENDING = "sending"
    RETRY_LATER = "retry_later"
    SENT = "sent"
    UNKNOWN = "unknown"
    FAILED = "failed"
    WITHHELD = "withheld"


class Step(StrEnum):
    """A step taken with a delivery: by the sender, by a person, or because its order is no longer in force."""

    CLAIM = "claim"
    SUCCEED = "succeed"
    POSTPONE = "postpone"
    GIVE_UP = "give_up"
    LOSE = "lose"
    EXPIRE = "expire"
    STOP = "stop"
    RETRY = "retry"
    HOLD_BACK = "hold_back"
    SETTLE = "settle"
    CARRY = "carry"
    CALL_OFF = "call_off"
    REROUTE = "reroute"


STATE_LABELS: dict[DeliveryState, str] = {
    DeliveryState.QUEUED: "Waiting to be sent",
    DeliveryState.SENDING: "Being sent",
    DeliveryState.RETRY_LATER: "To be tried again",
    DeliveryState.SENT: "Sent",
    DeliveryState.UNKNOWN: "Not known whether it arrived",
    DeliveryState.FAILED: "Could not be sent",
    DeliveryState.WITHHELD: "Stopped by hand",
}
STEP_LABELS: dict[Step, str] = {
    Step.CLAIM: "Taken up by the sender",
    Step.SUCCEED: "Sent",
    Step.POSTPONE: "Did not succeed; to be tried again",
    Step.GIVE_UP: "Not sent; given up",
    Step.LOSE: "Broken off; not known whether it arrived",
    Step.EXPIRE: "The sender stopped midway; not known whether it arrived",
    Step.STOP: "Not sent; no longer needed",
    Step.RETRY: "Put back into the outbox",
    Step.HOLD_BACK: "Held back",
    Step.SETTLE: "The lab has it",
    Step.CARRY: "Passed on to the lab",
    Step.CALL_OFF: "No longer needed",
    Step.REROUTE: "Sent another way instead",
}

OPEN = (DeliveryState.QUEUED, DeliveryState.RETRY_LATER)
# What is counted as stuck or waiting: the many that were sent, and those stopped by hand, are not read for it.
UNSETTLED = (*OPEN, DeliveryState.UNKNOWN, DeliveryState.FAILED)
# An attempt that ends after its lease has run out still records how it really ended.
_TRIED = (DeliveryState.SENDING, DeliveryState.UNKNOWN)
_STUCK = (DeliveryState.FAILED, DeliveryState.UNKNOWN, DeliveryState.WITHHELD)

_STEPS: dict[Step, tuple[tuple[DeliveryState, ...], DeliveryState]] = {
    Step.CLAIM: (OPEN, DeliveryState.SENDING),
    Step.SUCCEED: (_TRIED, DeliveryState.SENT),
    Step.POSTPONE: (_TRIED, DeliveryState.RETRY_LATER),
    Step.GIVE_UP: (_TRIED, DeliveryState.FAILED),
    Step.LOSE: (_TRIED, DeliveryState.UNKNOWN),
    Step.EXPIRE: ((DeliveryState.SENDING,), DeliveryState.UNKNOWN),
    Step.STOP: (_TRIED, DeliveryState.WITHHELD),
    Step.RETRY: ((*_STUCK, DeliveryState.RETRY_LATER), DeliveryState.QUEUED),
    Step.HOLD_BACK: (OPEN, DeliveryState.WITHHELD),
    Step.SETTLE: (_STUCK, DeliveryState.SENT),
    Step.CARRY: ((DeliveryState.QUEUED,), DeliveryState.SENT),
    Step.CALL_OFF: (OPEN, DeliveryState.WITHHELD),
    Step.REROUTE: ((*_STUCK, *OPEN), DeliveryState.WITHHELD),
}
TRANSITIONS: dict[tuple[DeliveryState, Step], DeliveryState] = {
    (before, step): after for step, (states, after) in _STEPS.items() for before in states
}

WAITS_FOR_A_PERSON = (DeliveryState.FAILED, DeliveryState.UNKNOWN)
# Steps that send it again are allowed only while it holds: an order in force, the withdrawal of one that is not.
SENDS_AGAIN = frozenset({Step.POSTPONE, Step.RETRY, Step.REROUTE})


def may(state: DeliveryState | str, step: Step, *, in_force: bool = True) -> bool:
    """Whether the step can be taken. ``in_force``: what the delivery tells the lab still holds."""
    return (DeliveryState(state), step) in TRANSITIONS and (in_force or step not in SENDS_AGAIN)


# Whatever still waits after this long is shown to people without being asked for.
WAITS_TOO_LONG = timedelta(hours=1)


def waits_too_long(state: DeliveryState | str, queued_at: datetime, now: datetime) -> bool:
    """Whether what was queued then should have left by now."""
    return state in OPEN and now - queued_at >= WAITS_TOO_LONG


def got_to_the_lab(states: Iterable[DeliveryState | str]) -> bool:
    """Whether the lab can have received the order. One without deliveries was passed on outside the program."""
    found = set(states)
    return not found or bool(found & {DeliveryState.SENT, DeliveryState.UNKNOWN})
