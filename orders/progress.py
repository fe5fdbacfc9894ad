"""Progress at the lab and in the practice: the kinds of event, what may happen when, and where the pair then is. Pure.

Events are only ever added. "Where is it" comes from the last event that moves the pair, and one table says what
may happen next from there.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
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
    REFUSED = "refused"
    ACKNOWLEDGED = "acknowledged"
    RECEIVED = "received"
    PASSED = "passed"
    CONCEDED = "conceded"
    RETURNED = "returned"
    OUR_MISTAKE = "our mistake"
    PATIENT_TOLD = "patient told"
    MESSAGE_LEFT = "message left"
    HANDED_OVER = "handed over"
    ADJUSTED = "adjusted"
    REPAIRED = "repaired"
    COMPLAINT = "complaint"
    REMADE = "remade"
    NOTE = "note"


class Place(StrEnum):
    """Where the pair is, in the practice's words."""

    DRAFT = "draft"
    SENT = "sent"
    AT_LAB = "at the lab"
    QUERY_OPEN = "query to answer"
    REFUSED = "refused by the lab"
    ON_THE_WAY = "on the way"
    TO_CHECK = "in, to be checked"
    TO_TELL = "checked, patient not told"
    READY = "ready to collect"
    HANDED_OVER = "handed over"
    BACK_AT_LAB = "returned to the lab"
    TO_REMAKE = "to be made again"
    MADE_AGAIN = "made again"
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
    EventKind.REFUSED: Place.REFUSED,
    EventKind.RECEIVED: Place.TO_CHECK,
    EventKind.PASSED: Place.TO_TELL,
    EventKind.CONCEDED: Place.TO_TELL,
    EventKind.RETURNED: Place.BACK_AT_LAB,
    EventKind.OUR_MISTAKE: Place.TO_REMAKE,
    EventKind.PATIENT_TOLD: Place.READY,
    EventKind.HANDED_OVER: Place.HANDED_OVER,
    EventKind.REMADE: Place.MADE_AGAIN,
}
# A delay, a message left, a note and aftercare move nothing, and nor does the lab's word that it will not make what was
# withdrawn.

# The practice's words for an event that people record; the rest are recorded by the action itself.
BY_HAND: dict[EventKind, str] = {
    EventKind.ACCEPTED: "The lab accepted it",
    EventKind.QUERY: "The lab asked something",
    EventKind.ANSWER: "We answered the lab",
    EventKind.DELAYED: "The lab is late",
    EventKind.DISPATCHED: "The lab sent the pair off",
    EventKind.REFUSED: "The lab refused it",
    EventKind.ACKNOWLEDGED: "The lab knows not to make it",
    EventKind.RECEIVED: "The pair came in",
    EventKind.PASSED: "Checked and passed",
    EventKind.CONCEDED: "Accepted with a concession",
    EventKind.RETURNED: "Checked and returned to the lab",
    EventKind.OUR_MISTAKE: "Made as ordered, and ordered wrongly",
    EventKind.PATIENT_TOLD: "The patient was told",
    EventKind.MESSAGE_LEFT: "A message was left for the patient",
    EventKind.HANDED_OVER: "Handed over",
    EventKind.ADJUSTED: "The frame was adjusted",
    EventKind.REPAIRED: "Something was repaired",
    EventKind.COMPLAINT: "The wearer complained",
    EventKind.NOTE: "A note",
}
# These need more than a note: causes, names, findings. Each is recorded by a form and a service of its own.
DECISIONS = (EventKind.CONCEDED, EventKind.RETURNED, EventKind.OUR_MISTAKE)
# What becomes of a finished pair that was checked.
DECIDED = (EventKind.PASSED, *DECISIONS)
AFTERCARE = (EventKind.ADJUSTED, EventKind.REPAIRED, EventKind.COMPLAINT)
IN_FULL = frozenset({*DECISIONS, *AFTERCARE, EventKind.HANDED_OVER})
BY_NOTE = tuple(kind for kind in BY_HAND if kind not in IN_FULL)
BY_THE_LAB = (
    EventKind.ACCEPTED,
    EventKind.QUERY,
    EventKind.DELAYED,
    EventKind.DISPATCHED,
    EventKind.REFUSED,
    EventKind.ACKNOWLEDGED,
)

FINISHED = frozenset({Place.HANDED_OVER, Place.MADE_AGAIN, Place.CANCELLED, Place.SUPERSEDED})
UNFINISHED = tuple(place for place in Place if place not in FINISHED)
# Where a pair is that the lab has made and the practice has.
COME_IN = frozenset({Place.TO_CHECK, Place.TO_TELL, Place.READY})
# Where a withdrawn order is: the lab has been told, or is being told, not to make it.
WITHDRAWN = frozenset({Place.CANCELLED, Place.SUPERSEDED})
# Where a pair is while the lab still owes it: a day it promised can pass unkept.
OWED_BY_THE_LAB = (Place.SENT, Place.AT_LAB, Place.QUERY_OPEN, Place.BACK_AT_LAB)
# Where it is while it is still to come from the lab.
TO_COME = (*OWED_BY_THE_LAB, Place.ON_THE_WAY)

# A lab need not report that it accepted or dispatched a pair before the pair arrives. A lost parcel is sent again.
# A fault may be found when the patient is already there, so a pair can be returned until it is handed over. A patient
# may walk in before being told, may be reminded, and may collect on another day. An order counts as made again once its
# remake is sent. The kinds are in the order in which people most often need them.
_AT_THE_LAB = (EventKind.QUERY, EventKind.DELAYED, EventKind.DISPATCHED, EventKind.RECEIVED, EventKind.REFUSED)
_CALLS = (EventKind.PATIENT_TOLD, EventKind.MESSAGE_LEFT)
_FAULT_FOUND_LATE = (EventKind.RETURNED, EventKind.OUR_MISTAKE)
_NOT_YET_HANDED_OVER = (EventKind.NOTE, EventKind.CANCELLED, EventKind.SUPERSEDED)
MAY_FOLLOW: dict[Place | None, tuple[EventKind, ...]] = {
    None: (EventKind.CREATED,),
    Place.DRAFT: (EventKind.NOTE, EventKind.SENT, EventKind.CANCELLED),
    Place.SENT: (EventKind.ACCEPTED, *_AT_THE_LAB, *_NOT_YET_HANDED_OVER),
    Place.AT_LAB: (*_AT_THE_LAB, *_NOT_YET_HANDED_OVER),
    Place.QUERY_OPEN: (EventKind.ANSWER, EventKind.ACCEPTED, *_AT_THE_LAB, *_NOT_YET_HANDED_OVER),
    # A lab may think better of it.
    Place.REFUSED: (EventKind.ACCEPTED, EventKind.QUERY, *_NOT_YET_HANDED_OVER),
    Place.ON_THE_WAY: (EventKind.RECEIVED, EventKind.DELAYED, EventKind.DISPATCHED, *_NOT_YET_HANDED_OVER),
    Place.TO_CHECK: (EventKind.PASSED, *DECISIONS, *_NOT_YET_HANDED_OVER),
    Place.TO_TELL: (*_CALLS, EventKind.HANDED_OVER, *_FAULT_FOUND_LATE, *_NOT_YET_HANDED_OVER),
    Place.READY: (EventKind.HANDED_OVER, *_CALLS, *_FAULT_FOUND_LATE, *_NOT_YET_HANDED_OVER),
    Place.HANDED_OVER: (*AFTERCARE, EventKind.REMADE, EventKind.NOTE),
    Place.BACK_AT_LAB: (EventKind.ACCEPTED, *_AT_THE_LAB, EventKind.REMADE, *_NOT_YET_HANDED_OVER),
    Place.TO_REMAKE: (EventKind.REMADE, EventKind.NOTE, EventKind.CANCELLED),
    Place.MADE_AGAIN: (EventKind.NOTE,),
    Place.CANCELLED: (EventKind.ACKNOWLEDGED, EventKind.NOTE),
    Place.SUPERSEDED: (EventKind.ACKNOWLEDGED, EventKind.NOTE),
}
"""What may happen at each place; ``None`` is the place of an order that does not exist yet."""

# What cannot have happened before the order has reached the lab.
NEEDS_THE_LAB = frozenset({EventKind.ACCEPTED, EventKind.ACKNOWLEDGED, *_AT_THE_LAB})


def may_follow(place: Place | None, *, with_lab: bool = True, by_lab: bool = False) -> tuple[EventKind, ...]:
    """What may happen next.

    ``with_lab``: false while the sent order is still waiting to reach the lab, or will never reach it; and of a
    withdrawn order, if the lab was never told of it. ``by_lab``: the lab itself reports the event, so it has the order,
    however it arrived.
    """
    kinds = MAY_FOLLOW[place]
    if by_lab:
        return tuple(kind for kind in kinds if kind in BY_THE_LAB)
    if (place is Place.SENT or place in WITHDRAWN) and not with_lab:
        return tuple(kind for kind in kinds if kind not in NEEDS_THE_LAB)
    return kinds


class CannotHappen(ValueError):
    """The event cannot come next, given where the pair is. ``may``: what the same person or lab can record now."""

    def __init__(self, place: Place | None, kind: EventKind, *, with_lab: bool = True, by_lab: bool = False):
        self.place, self.kind = place, kind
        self.may = tuple(may for may in may_follow(place, with_lab=with_lab, by_lab=by_lab) if may in BY_HAND)
        waits = place is Place.SENT and not (with_lab or by_lab)
        where = "The lab has not got this order yet" if waits else f"This order is at “{place}”"
        what = f"“{BY_HAND[kind]}” cannot be noted" if kind in BY_HAND else f"it cannot be {kind}"
        can = ", ".join(f"“{BY_HAND[may]}”" for may in self.may)
        super().__init__(f"{where}, so {what}." + (f" What can be noted now: {can}." if can else ""))


def require_may_follow(place: Place | None, kind: EventKind, *, with_lab: bool = True, by_lab: bool = False) -> None:
    """Raise :class:`CannotHappen` unless the event may come next."""
    if kind not in may_follow(place, with_lab=with_lab, by_lab=by_lab):
        raise CannotHappen(place, kind, with_lab=with_lab, by_lab=by_lab)


# What says nothing without its words.
NEEDS_WORDS: dict[EventKind, str] = {
    EventKind.QUERY: "Write what the lab asks.",
    EventKind.ANSWER: "Write the answer; it goes to the lab.",
    EventKind.REFUSED: "Write why the lab refuses it.",
}
PROMISES = frozenset({EventKind.ACCEPTED, EventKind.DELAYED})


def lacking(kind: EventKind, note: str, promised_on: date | None) -> dict[str, str]:
    """What an event of this kind still needs, by field; empty if nothing."""
    if kind in NEEDS_WORDS and not note.strip():
        return {"note": NEEDS_WORDS[kind]}
    if kind is EventKind.DELAYED and promised_on is None and not note.strip():
        return {"promised_on": "Give the new day; if the lab names none, say so in the note."}
    return {}


def place_after(kinds: Iterable[str]) -> Place | None:
    """Where the pair is after these events, given oldest first; None if nothing has happened.

    Once a question is answered it is where it was when the lab asked: a lab that asked first has yet to accept.
    """
    place: Place | None = None
    asked_at: Place | None = None
    for kind in map(EventKind, kinds):
        if kind is EventKind.QUERY and place is not Place.QUERY_OPEN:
            asked_at = place
        place = asked_at if kind is EventKind.ANSWER and asked_at else AFTER.get(kind, place)
    return place
