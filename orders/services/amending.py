"""Corrects a sent order by a new revision: a draft that replaces the sent order when it is itself sent."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Max

from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.models import Order
from orders.progress import EventKind, Place, require_may_follow
from orders.services.draft_findings import note_found
from orders.services.drafts import DRAFT_FIELDS, catalogue_in_use
from orders.services.events import record_event
from orders.services.judging import judge
from orders.states import Action, OrderState, after


def amend_order(*, order: Order, actor: StaffUser) -> Order:
    """Create a draft with the number's next revision and everything chosen before; the sent order stays in force.

    Raises `NotAllowed` unless the order is sent and in force, `CannotHappen` if the pair has been handed over, and
    `ValidationError` if a revision is already being drawn up.
    """
    after(OrderState(order.state), Action.SUPERSEDE)
    require_may_follow(Place(order.place), EventKind.SUPERSEDED)
    revisions = Order.objects.filter(number=order.number)
    if revisions.filter(state=OrderState.DRAFT).exists():
        raise _already(order)
    latest = revisions.aggregate(latest=Max("revision"))["latest"]
    try:
        with transaction.atomic():
            return _copy(order, latest + 1, actor)
    except IntegrityError as error:
        raise _already(order) from error


def _already(order: Order) -> ValidationError:
    return ValidationError(f"A revision of {order.number} is already being drawn up; go on with that one.")


def _copy(order: Order, number_of_revision: int, actor: StaffUser) -> Order:
    revision = Order(
        number=order.number,
        revision=number_of_revision,
        patient=order.patient,
        catalogue=catalogue_in_use(order.lab),
        lifted=order.lifted,
        created_by=actor,
        saved_by=actor,
        **{name: getattr(order, name) for name in DRAFT_FIELDS},
    )
    revision.save(force_insert=True)
    judged = judge(revision)
    revision.verdict = judged.report.verdict
    note_found(revision, judged.report)
    Order.objects.filter(pk=revision.pk).update(verdict=revision.verdict)
    note = f"Revision {revision.revision}, to replace revision {order.revision}"
    record_event(order=revision, kind=EventKind.CREATED, actor=actor, note=note)
    record(
        actor=actor,
        verb="order.amend",
        target=revision,
        patient=order.patient,
        changes={"revision": [str(order.revision), str(revision.revision)]},
    )
    return revision
