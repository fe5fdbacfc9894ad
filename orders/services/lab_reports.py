"""What a lab reports, by token or by signed post: each report is noted once, however often it comes.

A lab that got no answer reports again under the same key, and gets the first answer. Another report under a key that is
taken is refused: one of the two would be lost. What comes late or contradicts what happened since is refused by
`orders.progress` and moves nothing.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from django.db import transaction

from dispensing.models import StaffUser
from orders.models import LabWord, Order, OrderEvent
from orders.progress import WITHDRAWN, CannotHappen, EventKind
from orders.services.events import record_event


class KeyTaken(ValueError):
    """The lab has used this key for another report on the order."""

    def __init__(self) -> None:
        super().__init__("Another report came under this key before. Give every report a key of its own.")


def hear(*, order: Order, actor: StaffUser, key: str, **told: Any) -> tuple[OrderEvent, bool]:
    """Note the report; the event, and whether it had been noted before. ``told``: as `record_event` takes it.

    ``key``: the lab's own, empty if it gives none. Raises `KeyTaken` and what `record_event` raises. What a lab reports
    of an order that it was told not to make is refused and moves nothing, but people must know: it is kept as a note.
    """
    try:
        return _hear(order, actor, key, told)
    except CannotHappen as refused:
        if refused.place in WITHDRAWN:
            _keep_as_note(order, actor, key, told)
        raise


def _keep_as_note(order: Order, actor: StaffUser, key: str, told: dict[str, Any]) -> None:
    said = ", ".join(str(part) for part in (told["kind"], told.get("tracking"), told.get("note")) if part)
    note = f"{actor} reported of this withdrawn order: {said}. Ask the lab whether it is making it."
    if not OrderEvent.objects.filter(order=order, kind=EventKind.NOTE, note=note[:500]).exists():
        record_event(order=order, kind=EventKind.NOTE, actor=None, note=note)


@transaction.atomic
def _hear(order: Order, actor: StaffUser, key: str, told: dict[str, Any]) -> tuple[OrderEvent, bool]:
    # Two posts of one report queue here.
    Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    digest = hashlib.sha256(json.dumps(told, default=str, sort_keys=True).encode()).hexdigest()
    whole_key = f"{order.pk}/{key}" if key else None
    before = LabWord.objects.select_related("event").filter(key=whole_key).first() if whole_key else None
    if before is None:
        event = record_event(order=order, actor=actor, key=whole_key, body_sha256=digest, **told)
        return event, False
    if before.body_sha256 != digest:
        raise KeyTaken
    return before.event, True
