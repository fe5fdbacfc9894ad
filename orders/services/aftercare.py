"""Notes what comes after a hand-over: an adjustment, a repair, or a complaint in the wearer's own words."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import transaction

from dispensing.models import StaffUser
from dispensing.services.audit import record
from dispensing.services.patients import mark_seen
from orders.models import AftercareNote, Order
from orders.progress import AFTERCARE, EventKind
from orders.services.events import record_event

NEEDED = {
    EventKind.ADJUSTED: {"done": "Say what was adjusted, and how."},
    EventKind.REPAIRED: {"part": "Choose the part that broke.", "done": "Say how it broke, and what was done."},
    EventKind.COMPLAINT: {"words": "Write what the wearer says, in their words."},
}


@transaction.atomic
def note_aftercare(*, order: Order, actor: StaffUser, kind: EventKind, **told: str) -> AftercareNote:
    """``told``: fields of the note; those that do not belong to the kind are left out.

    Raises `ValidationError` by field for what the kind needs, and `CannotHappen` before the hand-over.
    """
    if kind not in AFTERCARE:
        raise TypeError(f"“{kind}” is no aftercare.")
    kept = {name: told.get(name, "").strip() for name in FIELDS[kind]}
    wrong = {name: says for name, says in NEEDED[kind].items() if not kept[name]}
    if kept.get("cause") and not kept.get("whose"):
        wrong["whose"] = "Say whose it was; nobody's is an answer too."
    if wrong:
        raise ValidationError(wrong)
    event = record_event(order=order, kind=kind, actor=actor, note=kept.get("done") or kept.get("words", "")[:500])
    row = AftercareNote(event=event, **kept)
    row.full_clean(exclude={"event"})
    row.save()
    mark_seen(order.patient)
    record(actor=actor, verb=f"order.{kind}", target=order, patient=order.patient)
    return row


FIELDS = {
    EventKind.ADJUSTED: ("done",),
    EventKind.REPAIRED: ("part", "done"),
    EventKind.COMPLAINT: ("words", "findings", "cause", "whose"),
}
"""What is kept of each kind."""
