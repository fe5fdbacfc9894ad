"""Sends an order: it is checked, frozen, marked as sent and put in the outbox in one commit.

Nothing leaves the practice here. The worker picks up the outbox rows afterwards; see ``orders.sending``.
"""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from dispensing.fonts import FontsMissing
from dispensing.models import Patient, StaffUser
from dispensing.services.audit import record
from orders.documents.canonical import sha256_hex
from orders.models import Order, OrderDocument
from orders.progress import CannotHappen, EventKind
from orders.queries import for_page
from orders.services.deliveries import call_off
from orders.services.errors import NotReady, saved_meanwhile
from orders.services.events import record_event
from orders.services.freezing import Frozen, freeze
from orders.services.judging import Judgement, asked_of, judge
from orders.services.remakes import count_as_made_again, why_not_sent
from orders.services.transition import move
from orders.services.ways_out import put_in_outbox, tell_of_withdrawal
from orders.states import Action, OrderState, after

TRIES = 3


def send_order(*, order: Order, actor: StaffUser, version: int) -> OrderDocument:
    """Send the draft as saved under ``version``; returns the frozen document.

    Raises `NotReady` with the open stops and asks, `NotAllowed` if it is not (or no longer) a draft, and
    `ChangedMeanwhile` if somebody saved it in the meantime. If two people send it, only one succeeds.
    """
    after(OrderState(order.state), Action.SEND)
    if order.version != version:
        raise saved_meanwhile(order.pk, {})
    for _ in range(TRIES):
        # The PDF takes a tenth of a second, so it is drawn before the transaction and nobody waits for it.
        judged = _ready(order)
        try:
            frozen = freeze(judged, replaced=_replaced(order), sender=actor)
        except FontsMissing as error:
            raise NotReady((str(error),)) from error
        with transaction.atomic():
            document = _commit(order, judged, frozen, actor, version)
        if document is not None:
            return document
        order.refresh_from_db()
    raise NotReady(("The record keeps changing while it is being sent. Try again in a moment.",))


def _ready(order: Order) -> Judgement:
    """The judgement, if nothing prevents sending."""
    if order.lab is None:
        raise NotReady(("Choose the lab that this order goes to.",))
    if order.catalogue is None:
        raise NotReady((f"{order.lab} has no catalogue here yet; import it before an order can be checked.",))
    unsaid = why_not_sent(order)
    if unsaid:
        raise NotReady(unsaid)
    judged = judge(order)
    if judged.open_findings:
        raise NotReady(judged=judged)
    return judged


def _replaced(order: Order) -> OrderDocument | None:
    """The newest revision of the order that a lab may have."""
    earlier = OrderDocument.objects.filter(number=order.number, revision__lt=order.revision)
    return earlier.order_by("-revision").first()


def _commit(order: Order, judged: Judgement, frozen: Frozen, actor: StaffUser, version: int) -> OrderDocument | None:
    """Write everything that sending writes; None if anything judged changed while the PDF was being drawn."""
    now = timezone.now()
    # Orders of one patient are sent one after the other, so that the second is judged with the first beside it.
    # Locked without its key, which rows that merely point at the patient may go on doing.
    Patient.objects.select_for_update(no_key=True).get(pk=order.patient_id)
    move(order, Action.SEND, actor=actor, version=version, sent_at=now, sent_by=actor, verdict=_verdict(frozen))
    # Read the order again: its related rows in memory were read before the PDF was drawn.
    if asked_of(for_page().get(pk=order.pk)) != judged.asked:
        transaction.set_rollback(True)
        return None
    document = OrderDocument.objects.create(
        order=order,
        number=order.number,
        revision=order.revision,
        text=frozen.text.decode(),
        sha256=frozen.sha256,
        report=frozen.report.decode(),
        catalogue_sha256=order.catalogue.sha256 if order.catalogue else "",
        pdf=frozen.pdf,
        pdf_sha256=sha256_hex(frozen.pdf),
        frozen_at=now,
        frozen_by=actor,
    )
    record_event(order=order, kind=EventKind.SENT, actor=actor, note=f"Revision {order.revision}", at=now)
    put_in_outbox(document)
    if order.revision > 1:
        _supersede_earlier(order, actor)
    else:
        count_as_made_again(order, actor)
    changes = {"sha256": [None, frozen.sha256], "lab": [None, str(order.lab)]}
    record(actor=actor, verb="order.send", target=order, patient=order.patient, changes=changes)
    return document


def _verdict(frozen: Frozen) -> str:
    """Notes may remain; every stop and ask has been lifted or confirmed, or nothing would be sent."""
    return "note" if frozen.has_notes else "clear"


def _supersede_earlier(order: Order, actor: StaffUser) -> None:
    """Replace the revision before this one; what of it still waited is not sent, and a lab that has it is told.

    Raises `NotReady` if its pair was handed over while this one was being drawn up.
    """
    earlier = Order.objects.filter(number=order.number, revision__lt=order.revision, state=OrderState.SENT)
    for old in earlier:
        move(old, Action.SUPERSEDE, actor=actor)
        note = f"Replaced by revision {order.revision}"
        try:
            replaced = record_event(order=old, kind=EventKind.SUPERSEDED, actor=actor, note=note)
        except CannotHappen as refused:
            handed_over = f"Revision {old.revision} was handed over meanwhile. Cancel this draft and order a remake."
            raise NotReady((handed_over,)) from refused
        call_off(old, actor, note)
        tell_of_withdrawal(old, replaced)
