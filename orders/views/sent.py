"""The record of an order: what was sent, how it was delivered, and what happened to it since."""

from __future__ import annotations

import uuid
from functools import partial
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.models import Practice
from dispensing.queries.protection import why_protected
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.views.meanwhile import posted_version
from dispensing.views.requests import StaffRequest
from orders.documents.lens_order import parse_order
from orders.documents.order_report import OrderReport
from orders.drawings.layout import pair_layout
from orders.facts import catalogue_of
from orders.forms.events import EventForm
from orders.forms.handing_over import TrayForm
from orders.models import Delivery, OrderDocument
from orders.presentation.desk import drawings, has_sizes, judgement_context
from orders.presentation.documents import Headings, computed_rows, eye_rows, fact_rows, job_words, lens_rows
from orders.presentation.everything import everything
from orders.presentation.powers import power_context
from orders.presentation.questions import open_question
from orders.presentation.remake import remake_context
from orders.presentation.strip import strip_rows
from orders.presentation.ways import waits_of
from orders.presentation.worn_now import worn_context
from orders.progress import CannotHappen, EventKind, Place, may_follow
from orders.queries import for_page, successor_of
from orders.sending.by_hand import (
    note_download,
    reroute_delivery,
    retry_delivery,
    settle_delivery,
    withhold_delivery,
)
from orders.services.amending import amend_order
from orders.services.deciding import note_event
from orders.services.errors import NotAsOrdered, NotReady, NotRegistered
from orders.services.events import lab_knows
from orders.services.finished_pairs import NOT_HERE, standing
from orders.services.freezing import to_be_sent
from orders.services.judging import judge
from orders.services.permitted import NotTheirs, theirs
from orders.services.sending import send_order
from orders.states import NotAllowed
from orders.stuck import stuck

if TYPE_CHECKING:
    from orders.queries import MarkedOrder

ANSWER_FIELDS = "answer-%s"
"""The ids of the fields of the answer, which stands on the page besides the form for anything that happened."""


def sent_page(request: StaffRequest, order: MarkedOrder, refused: EventForm | None = None) -> HttpResponse:
    """The page, drawn from the frozen document if there is one; a draft read by the desk is drawn as now saved.

    refused: what somebody typed of an event, with what is wrong with it; it stands again where it was typed.
    """
    headings = Headings.of(Practice.current())
    stored = next(iter(order.documents.all()), None)
    context = _frozen(stored, headings) if stored else judgement_context(order, judge(order), headings)
    deliveries = list(stored.deliveries.all()) if stored else []
    with_lab = lab_knows(order.place, [(row.message, row.state) for row in deliveries])
    may_happen = may_follow(Place(order.place), with_lab=with_lab)
    context |= {
        "order": order,
        "stored": stored,
        "successor": successor_of(order),
        "deliveries": deliveries,
        "waits": waits_of(order, deliveries, stuck()) if stored else [],
        "events": list(reversed(order.events.all())),
        "may_happen": may_happen,
        "waits_for_the_lab": order.place == Place.SENT and not with_lab,
        "protected": why_protected(order.patient, timezone.localdate()),
        **_event_forms(theirs(request.user, may_happen), refused),
        "question": open_question(order),
        "finished": standing(order) if stored else None,
        "can_be_read": Place(order.place) not in NOT_HERE and (with_lab or order.place != Place.SENT),
        "tray_form": TrayForm(initial={"tray": order.tray}),
    }
    return render(request, "orders/sent.html", context)


def _event_forms(may: tuple[EventKind, ...], refused: EventForm | None) -> dict[str, EventForm]:
    """The form for anything that happened, and the one that answers a lab's question where the question stands."""
    forms = {"event_form": EventForm(may=may), "answer_form": EventForm(auto_id=ANSWER_FIELDS)}
    if refused is not None:
        refused.offer_only(may)
        forms["answer_form" if refused.auto_id == ANSWER_FIELDS else "event_form"] = refused
    forms["answer_form"].fields["note"].label = "Answer"
    return forms


def _frozen(stored: OrderDocument, headings: Headings) -> dict[str, Any]:
    document, report = parse_order(stored.text), OrderReport.model_validate_json(stored.report)
    catalogue = catalogue_of(stored.order)
    layout = pair_layout(document, catalogue) if has_sizes(document) else None
    return {
        "document": document,
        "report": report,
        "findings": report.findings,
        "computed_rows": computed_rows(report),
        **power_context(document, report, headings),
        **remake_context(stored.order, document, report),
        "fact_rows": fact_rows(eye_rows(document, headings)),
        **worn_context(document, headings),
        "lens_rows": lens_rows(document, headings),
        "job_words": job_words(document),
        **drawings(layout, headings, sections=catalogue is not None),
        "strip_rows": strip_rows(document, report, layout, headings),
    }


@requires(Ability.ORDER_SEND)
def order_send(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Read the order once more, then send it."""
    order = get_object_or_404(for_page(), public_id=order_id)
    if not order.is_draft:
        return redirect("order-page", order.public_id)
    problems: tuple[str, ...] = ()
    judgement = None
    if request.method == "POST":
        try:
            send_order(order=order, actor=request.user, version=posted_version(request))
            messages.success(request, f"Order {order.number} is signed off and waits to leave for {order.lab}.")
            return redirect("order-page", order.public_id)
        except NotReady as refused:
            problems, judgement = refused.problems, refused.judged
        except (ChangedMeanwhile, NotAllowed) as refused:
            problems = (str(refused),)
        order = get_object_or_404(for_page(), public_id=order_id)
    judgement = judgement or judge(order)
    headings = Headings.of(Practice.current())
    whole = to_be_sent(judgement, sender=request.user)
    context = {
        **judgement_context(order, judgement, headings),
        "everything": everything(whole, judgement.catalogue),
        "headings": headings,
        "problems": problems,
        "can_send": order.catalogue_id is not None and not judgement.open_findings,
    }
    return render(request, "orders/send.html", context)


@requires(Ability.ORDER_EDIT)
@require_POST
def order_amend(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    order = get_object_or_404(for_page(), public_id=order_id)
    try:
        return redirect("order-page", amend_order(order=order, actor=request.user).public_id)
    except (NotAllowed, CannotHappen, ValidationError) as refused:
        messages.error(request, " ".join(getattr(refused, "messages", [str(refused)])))
    return redirect("order-page", order.public_id)


@requires(Ability.ORDER_VIEW)
@require_POST
def order_event(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Record something that happened: the lab accepted the order, or the pair arrived."""
    order = get_object_or_404(for_page(), public_id=order_id)
    answers = "answers_the_question" in request.POST
    form = EventForm(request.POST, auto_id=ANSWER_FIELDS if answers else "id_%s")
    if form.is_valid():
        try:
            note_event(order=order, actor=request.user, **form.cleaned_data)
        except (CannotHappen, NotAsOrdered, NotRegistered, NotTheirs) as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Noted.")
            return redirect("order-page", order.public_id)
    return sent_page(request, order, form)


@requires(Ability.ORDER_VIEW)
@require_safe
def order_pdf(request: StaffRequest, document_id: uuid.UUID) -> HttpResponse:
    stored = get_object_or_404(OrderDocument, public_id=document_id)
    return _file(bytes(stored.pdf), "application/pdf", f"{stored.number}-{stored.revision}.pdf")


@requires(Ability.ORDER_VIEW)
@require_safe
def order_json(request: StaffRequest, document_id: uuid.UUID) -> HttpResponse:
    stored = get_object_or_404(OrderDocument, public_id=document_id)
    return _file(stored.text.encode(), "application/json", f"{stored.number}-{stored.revision}.json")


def _file(content: bytes, content_type: str, name: str) -> HttpResponse:
    return HttpResponse(
        content,
        content_type=content_type,
        headers={"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "private, no-store"},
    )


@requires(Ability.ORDER_SEND)
@require_POST
def delivery_retry(request: StaffRequest, delivery_id: uuid.UUID) -> HttpResponse:
    return _by_hand(request, delivery_id, retry_delivery, "The order is put back into the outbox.")


@requires(Ability.ORDER_SEND)
@require_POST
def delivery_withhold(request: StaffRequest, delivery_id: uuid.UUID) -> HttpResponse:
    return _by_hand(request, delivery_id, withhold_delivery, "The order is held back.")


@requires(Ability.ORDER_SEND)
@require_POST
def delivery_arrived(request: StaffRequest, delivery_id: uuid.UUID) -> HttpResponse:
    """Record that the lab says it has the order, however it got there."""
    return _by_hand(request, delivery_id, settle_delivery, "Noted: the lab has the order.")


@requires(Ability.ORDER_SEND)
@require_POST
def delivery_passed_on(request: StaffRequest, delivery_id: uuid.UUID) -> HttpResponse:
    """Record that somebody took the downloaded documents to the lab."""
    return _by_hand(request, delivery_id, note_download, "Noted: the documents were passed on to the lab.")


@requires(Ability.ORDER_SEND)
@require_POST
def delivery_reroute(request: StaffRequest, delivery_id: uuid.UUID) -> HttpResponse:
    """Send the same another way, if this one does not get through."""
    channel = request.POST.get("channel", "")
    return _by_hand(request, delivery_id, partial(reroute_delivery, channel=channel), "It now goes another way.")


def _by_hand(request: StaffRequest, delivery_id: uuid.UUID, action: Any, done: str) -> HttpResponse:
    delivery = get_object_or_404(Delivery.objects.select_related("document__order"), public_id=delivery_id)
    try:
        action(delivery=delivery, actor=request.user)
        messages.success(request, done)
    except ValueError as refused:
        messages.error(request, str(refused))
    return redirect("order-page", delivery.document.order.public_id)
