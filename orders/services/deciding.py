"""Decides what becomes of a finished pair that was checked: accept it, accept it with a concession, return it to the
lab, or own up to an order that was wrong. A pair that is to be ordered again gets its remake in the same transaction.
"""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.causes import OF_THE_LAB, OF_THE_PRACTICE, Cause, Whose
from orders.models import Decision, Order, OrderEvent
from orders.models.finished_pairs import Result
from orders.progress import DECISIONS, EventKind
from orders.services.errors import NotAsOrdered
from orders.services.events import record_event
from orders.services.finished_pairs import Standing, standing
from orders.services.handing_over import free_tray
from orders.services.permitted import require_theirs
from orders.services.remakes import start_remake

WHOSE_BY_KIND = {EventKind.RETURNED: Whose.LAB, EventKind.OUR_MISTAKE: Whose.PRACTICE}
CAUSES_BY_KIND = {
    EventKind.CONCEDED: OF_THE_LAB,
    EventKind.RETURNED: OF_THE_LAB,
    EventKind.OUR_MISTAKE: OF_THE_PRACTICE,
}


@transaction.atomic
def accept(*, order: Order, actor: StaffUser, note: str = "", registered: StaffUser | None = None) -> OrderEvent:
    """The pair is as it was ordered. Raises `NotAsOrdered` if its readings say otherwise or a second reader is waited
    for, `NotTheirs`, `CannotHappen`, `NotRegistered`. A pair that nobody read is taken at the person's word.
    """
    require_theirs(actor, EventKind.PASSED)
    stands = standing(order)
    _require_both_readers(stands)
    if stands.result not in ("", Result.ACCEPT) or stands.has_defects:
        raise NotAsOrdered(
            "The newest reading does not say that this pair is as ordered. Read it again, or accept it with a "
            "concession."
        )
    return record_event(order=order, kind=EventKind.PASSED, actor=actor, note=note, registered=registered)


def note_event(*, order: Order, actor: StaffUser, kind: EventKind, **told: Any) -> OrderEvent:
    """What happened, where a note is all there is to say of it; acceptance is judged as on its own page."""
    if kind == EventKind.PASSED:
        # What a lab says besides belongs to its own events.
        return accept(order=order, actor=actor, note=told.get("note", ""), registered=told.get("registered"))
    return record_event(order=order, kind=kind, actor=actor, **told)


@transaction.atomic
def decide(
    *,
    order: Order,
    actor: StaffUser,
    kind: EventKind,
    cause: str,
    reason: str,
    allowed_by: StaffUser | None = None,
    patient_told: bool = False,
    order_again: bool = False,
    registered: StaffUser | None = None,
) -> tuple[OrderEvent, Order | None]:
    """Record a decision on a pair that is not as it should be, and the remake that it starts, if any.

    ``allowed_by``: who allows a concession; nobody else is asked. ``order_again``: a returned pair is ordered anew
    instead of being put right under its own number; what we ordered wrongly always is. Raises `ValidationError` by
    field, `NotTheirs`, `NotAsOrdered` while a second reader is waited for, `CannotHappen`, `NotRegistered`.
    """
    require_theirs(actor, kind)
    _require_reasons(kind, cause, reason, allowed_by)
    if kind == EventKind.CONCEDED:
        _require_both_readers(standing(order))
    event = record_event(order=order, kind=kind, actor=actor, note=reason, registered=registered)
    if kind == EventKind.RETURNED:
        free_tray(order)
    decision = Decision.objects.create(
        event=event,
        cause=cause,
        whose=WHOSE_BY_KIND.get(kind, Whose.LAB),
        reason=reason,
        allowed_by=allowed_by if kind == EventKind.CONCEDED else None,
        patient_told=patient_told and kind == EventKind.CONCEDED,
    )
    changes = {"cause": [None, decision.cause], "reason": [None, reason]}
    record(actor=actor, verb=f"order.{kind.replace(' ', '-')}", target=order, patient=order.patient, changes=changes)
    if kind != EventKind.OUR_MISTAKE and not (kind == EventKind.RETURNED and order_again):
        return event, None
    return event, start_remake(first=order, actor=actor, cause=cause, whose=decision.whose, said=reason)


def _require_both_readers(stands: Standing) -> None:
    if stands.waits_for_second_reader:
        because = " ".join(stands.second_reader_because)
        raise NotAsOrdered(f"A second person reads this pair before it is accepted. {because}")


def _require_reasons(kind: EventKind, cause: str, reason: str, allowed_by: StaffUser | None) -> None:
    if kind not in DECISIONS:
        raise TypeError(f"“{kind}” is no decision on a finished pair.")
    wrong = {}
    if cause not in CAUSES_BY_KIND[kind]:
        wrong["cause"] = "Choose what is wrong with the pair." if not cause else _not_of(kind)
    if not reason.strip():
        wrong["reason"] = "Say what was found, in a sentence."
    if kind == EventKind.CONCEDED and allowed_by is None:
        wrong["allowed_by"] = "Name who allows it."
    if wrong:
        raise ValidationError(wrong)


def _not_of(kind: EventKind) -> str:
    if kind == EventKind.OUR_MISTAKE:
        return "Choose what was wrong with the order: the lab made the pair as ordered."
    return "Choose what is wrong with the pair as made; what was ordered wrongly is our own mistake."


def causes_offered(kind: EventKind) -> tuple[Cause, ...]:
    """What can be named for this decision."""
    return CAUSES_BY_KIND[kind]
