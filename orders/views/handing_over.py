"""Handing a pair over, its tray, the patient's copy, and what comes after."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.models import Practice
from dispensing.queries.protection import why_protected
from dispensing.roles import Ability
from dispensing.views.requests import StaffRequest
from orders.finished_queries import document_of, wore_progressives_before
from orders.forms.aftercare import AftercareForm
from orders.forms.handing_over import HandOverForm, TrayForm
from orders.models import Order
from orders.presentation.documents import Headings
from orders.presentation.patients_copy import copy_context
from orders.presentation.what_differs import differing_context
from orders.progress import AFTERCARE, CannotHappen, EventKind, Place, may_follow
from orders.queries import for_page
from orders.services.aftercare import note_aftercare
from orders.services.errors import NotRegistered
from orders.services.handing_over import hand_over, put_in_tray
from orders.supplying.cautions import CARE, told_to_the_wearer
from orders.supplying.follow_up import follow_up_day
from orders.views.deciding import add_faults


def _sent_order(order_id: uuid.UUID) -> Order:
    """An order with a document; a draft is not handed over."""
    order = get_object_or_404(for_page(), public_id=order_id)
    if not order.documents.all():
        raise Http404("This order was never sent.")
    return order


@requires(Ability.ORDER_VIEW)
def order_hand_over(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Give the pair to its wearer."""
    order = _sent_order(order_id)
    document = document_of(order)
    assert document is not None
    cautions = told_to_the_wearer(document)
    form = HandOverForm(request.POST or None, cautions=cautions, initial=_proposed(order, document, cautions))
    if request.method == "POST" and form.is_valid():
        try:
            hand_over(order=order, actor=request.user, **form.cleaned_data)
            messages.success(request, f"Order {order.number} is handed over.")
            return _back_from_hand_over(request, order)
        except (CannotHappen, NotRegistered) as refused:
            form.add_error("registered" if isinstance(refused, NotRegistered) else None, str(refused))
        except ValidationError as refused:
            add_faults(form, refused)
    context = {"order": order, "form": form, "care": CARE}
    context["may_hand_over"] = EventKind.HANDED_OVER in may_follow(Place(order.place))
    context["protected"] = why_protected(order.patient, timezone.localdate())
    return render(request, "orders/hand_over.html", context)


def _back_from_hand_over(request: StaffRequest, order: Order) -> HttpResponse:
    """To the list that it was begun from, for the next who waits; otherwise to the order."""
    return redirect("desk-day") if request.GET.get("from") == "desk" else redirect("order-page", order.public_id)


def _proposed(order: Order, document: Any, cautions: tuple[str, ...]) -> dict[str, Any]:
    today, expires = timezone.localdate(), document.prescription.expires_on
    return {
        "cautions": list(cautions),
        "next_test_on": expires if expires and expires > today else None,
        "follow_up_on": follow_up_day(document, today, worn_before=wore_progressives_before(order)),
    }


@requires(Ability.ORDER_VIEW)
@require_POST
def order_tray(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    order = get_object_or_404(for_page(), public_id=order_id)
    form = TrayForm(request.POST)
    try:
        if not form.is_valid():
            raise ValidationError(form.errors["tray"].as_data())
        put_in_tray(order=order, actor=request.user, **form.cleaned_data)
        messages.success(request, f"It lies in tray {order.tray}." if order.tray else "It lies in no tray.")
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    return redirect("order-page", order.public_id)


@requires(Ability.ORDER_VIEW)
@require_safe
def order_patients_copy(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """What the patient takes home, to print: powers, lenses, what it is for, cautions, the next test; no codes."""
    order = _sent_order(order_id)
    return render(request, "orders/patients_copy.html", copy_context(order, Headings.of(Practice.current())))


@requires(Ability.ORDER_VIEW)
def order_aftercare(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Note an adjustment, a repair or a complaint."""
    order = _sent_order(order_id)
    form = AftercareForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            note_aftercare(order=order, actor=request.user, **form.cleaned_data)
            return _noted(request, order, form.cleaned_data["kind"])
        except CannotHappen as refused:
            form.add_error(None, str(refused))
        except ValidationError as refused:
            add_faults(form, refused)
    may_note = set(AFTERCARE) & set(may_follow(Place(order.place)))
    return render(request, "orders/aftercare.html", {"order": order, "form": form, "may_note": may_note})


def _noted(request: StaffRequest, order: Order, kind: EventKind) -> HttpResponse:
    """A complaint leads on to what is different about this pair."""
    messages.success(request, "Noted.")
    return redirect("order-what-differs" if kind == EventKind.COMPLAINT else "order-page", order.public_id)


@requires(Ability.ORDER_VIEW)
@require_safe
def order_what_differs(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """The pair beside what was worn before: where to look when a wearer does not get used to it."""
    order = _sent_order(order_id)
    return render(request, "orders/what_differs.html", differing_context(order, Headings.of(Practice.current())))
