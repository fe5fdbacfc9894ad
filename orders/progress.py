"""Progress at the lab and in the practice: the kinds of event and where the pair is after each. Pure.

Events are only ever added. "Where is it" is read off the last event that moves the pair; late or
repeated events do no harm.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum


class EventKind(StrEnum):
    CREATED = "created"
    SENT = "sent"
    CANCELLED = "cancelled"
    SUPERSEDED = "superseded"
    ACCEPTED = "accepted"
    QUERY = "query"
    ANSWER = "answer"
    DELAYED = "delayed"
    DISPATCHED = "dispatched"
    RECEIVED = "received"
    PASSED = "passed"
    RETURNED = "returned"
    PATIENT_TOLD = "patient told"
    HANDED_OVER = "handed over"
    NOTE = "note"


class Place(StrEnum):
    """Where the pair is, in the practice's words."""

    DRAFT = "draft"
    SENT = "sent"
    AT_LAB = "at the lab"
    QUERY_OPEN = "query to answer"
    ON_THE_WAY = "on the way"
    TO_CHECK = "in, to be checked"
    TO_TELL = "checked, patient not told"
    READY = "ready to collect"
    HANDED_OVER = "handed over"
    BACK_AT_LAB = "returned to the lab"
    CANCELLED = "cancelled"
    SUPERSEDED = "superseded"


AFTER: dict[EventKind, Place] = {
    EventKind.CREATED: Place.DRAFT,
    EventKind.SENT: Place.SENT,
    EventKind.CANCELLED: Place.CANCELLED,
    EventKind.SUPERSEDED: Place.SUPERSEDED,
    EventKind.ACCEPTED: Place.AT_LAB,
    EventKind.QUERY: Place.QUERY_OPEN,
    EventKind.ANSWER: Place.AT_LAB,
    EventKind.DISPATCHED: Place.ON_THE_WAY,
    EventKind.RECEIVED: Place.TO_CHECK,
    EventKind.PASSED: Place.TO_TELL,
    EventKind.RETURNED: Place.BACK_AT_LAB,
    EventKind.PATIENT_TOLD: Place.READY,
    EventKind.HANDED_OVER: Place.HANDED_OVER,
}
# A delay or a note moves nothing.

FINISHED = frozenset({Place.HANDED_OVER, Place.CANCELLED, Place.SUPERSEDED})


def place_after(kinds: Iterable[str]) -> Place:
    """Where the pair is after these events, oldest first."""
    place = Place.DRAFT
    for kind in kinds:
        place = AFTER.get(EventKind(kind), place)
    return place
