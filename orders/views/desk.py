"""The order desk, where a draft is drawn up, and judged and saved with every change."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import can, requires
from dispensing.models import Patient
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.views.meanwhile import posted_version
from dispensing.views.requests import StaffRequest
from orders.forms.desk import DeskForms
from orders.models import Order
from orders.models.orders import FrameSource
from orders.presentation.desk import DeskPage
from orders.progress import CannotHappen
from orders.queries import for_desk, for_page
from orders.services.cancelling import cancel_order
from orders.services.drafts import save_draft, start_draft
from orders.services.errors import NoSuchFinding, NotLiftable
from orders.services.lifting import lift, take_back
from orders.services.pairs import PAIRS_AT_ONCE, start_pairs
from orders.services.usual import usual_job, usual_lab, usual_lenses
from orders.states import NotAllowed
from orders.views.answers import conflict_answer, live_answer, refused_answer
from orders.views.sent import sent_page


@requires(Ability.ORDER_EDIT)
@require_POST
def order_start(request: StaffRequest, patient_id: uuid.UUID) -> HttpResponse:
    """Start a draft, or with ``pairs`` one for each of several pairs."""
    patient = get_object_or_404(Patient, public_id=patient_id)
    fields = _from_the_record(request, patient)
    uses = PAIRS_AT_ONCE.get(request.POST.get("pairs", ""))
    try:
        if uses:
            return _pairs_started(request, start_pairs(patient=patient, actor=request.user, uses=uses, **fields))
        fields["lenses"] = usual_lenses(fields["lab"], fields["prescription"], fields["fitting"])
        order = start_draft(patient=patient, actor=request.user, **fields)
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
        return redirect("patient-page", patient.public_id)
    return redirect("order-page", order.public_id)


def _pairs_started(request: StaffRequest, orders: list[Order]) -> HttpResponse:
    """The first of the drafts, with a word on where the others are."""
    first, *others = orders
    named = " and ".join(f"{order.number} ({order.get_use_display().lower()})" for order in others)
    messages.success(request, f"{first.number} is for {first.get_use_display().lower()}. Also begun: {named}.")
    return redirect("order-page", first.public_id)


def _from_the_record(request: StaffRequest, patient: Patient) -> dict[str, Any]:
    """The latest prescription, the fitting asked for or else the latest, and what is usually ordered."""
    fittings = patient.fittings.select_related("frame")
    fitting = _named(request, "fitting", fittings) or fittings.first()
    prescription, lab = patient.prescriptions.first(), usual_lab()
    own = {"frame_source": FrameSource.OWN} if fitting and fitting.frame.owner_id else {}
    return {
        "prescription": prescription,
        "fitting": fitting,
        "frame": fitting.frame if fitting else None,
        "lab": lab,
        **usual_job(lab, timezone.localdate()),
        **own,
    }


def _named(request: StaffRequest, name: str, among: QuerySet[Any]) -> Any:
    """The record named by one of our own buttons; None if none is named."""
    text = request.POST.get(name, "")
    if not text:
        return None
    try:
        return get_object_or_404(among, public_id=uuid.UUID(text))
    except ValueError as nonsense:
        raise Http404(f"There is no such {name}.") from nonsense


@requires(Ability.ORDER_VIEW)
@require_safe
def order_page(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """The desk, if the order is a draft and the person may change it; otherwise the record of the order."""
    order = get_object_or_404(for_page(), public_id=order_id)
    if not order.is_draft or not _may_edit(request):
        return sent_page(request, order)
    return render(request, "orders/draft.html", DeskPage.of(order).context())


def _may_edit(request: StaffRequest) -> bool:
    return can(request.user, Ability.ORDER_EDIT)


@requires(Ability.ORDER_EDIT)
@require_POST
def order_live(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Save what is on the page and answer with the order judged again."""
    order = get_object_or_404(for_desk(), public_id=order_id)
    forms = DeskForms(order, request.POST)
    try:
        judged = save_draft(order=order, actor=request.user, version=posted_version(request), fields=forms.fields())
    except ChangedMeanwhile as refused:
        return conflict_answer(request, refused)
    except NotAllowed as refused:
        return refused_answer(request, str(refused))
    except ValidationError as refused:
        return refused_answer(request, " ".join(refused.messages))
    if not request.htmx:
        # Without scripts, the whole page is drawn again if something typed is invalid, so that what was typed is kept.
        faulty = any(forms.slots().values())
        page = DeskPage(order, forms, judged)
        return render(request, "orders/draft.html", page.context()) if faulty else _to_the_page(order)
    return live_answer(request, order, judged, slots=forms.slots())


def _to_the_page(order: Order) -> HttpResponse:
    return redirect("order-page", order.public_id)


@requires(Ability.ORDER_SEND)
@require_POST
def order_settle(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Confirm a question or lift a stop, in the name of the person signed in."""
    return _settled(request, order_id, lift, reason=request.POST.get("reason", ""))


@requires(Ability.ORDER_SEND)
@require_POST
def order_unsettle(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    return _settled(request, order_id, take_back)


def _settled(request: StaffRequest, order_id: uuid.UUID, action: Any, **said: str) -> HttpResponse:
    order = get_object_or_404(for_page(), public_id=order_id)
    rule, eye = request.POST.get("rule", ""), request.POST.get("eye") or None
    try:
        judged = action(order=order, actor=request.user, version=posted_version(request), rule=rule, eye=eye, **said)
    except ChangedMeanwhile as refused:
        return conflict_answer(request, refused) if request.htmx else _not_settled(request, order, str(refused))
    except (NoSuchFinding, NotLiftable, NotAllowed) as refused:
        return _not_settled(request, order, str(refused))
    except ValidationError as refused:
        return _not_settled(request, order, " ".join(refused.messages))
    return live_answer(request, order, judged) if request.htmx else _back(request, order)


def _not_settled(request: StaffRequest, order: Order, why: str) -> HttpResponse:
    if request.htmx:
        return refused_answer(request, why)
    messages.error(request, why)
    return _back(request, order)


def _back(request: StaffRequest, order: Order) -> HttpResponse:
    """To the page that the answer was given on."""
    return redirect("order-send" if request.POST.get("from") == "review" else "order-page", order.public_id)


@requires(Ability.ORDER_CANCEL)
@require_POST
def order_cancel(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    order = get_object_or_404(for_page(), public_id=order_id)
    try:
        cancel_order(order=order, actor=request.user, reason=request.POST.get("reason", ""))
        messages.success(request, f"Order {order.number} is cancelled.")
    except (NotAllowed, CannotHappen, ValidationError) as refused:
        messages.error(request, " ".join(getattr(refused, "messages", [str(refused)])))
    return redirect("order-page", order.public_id)
