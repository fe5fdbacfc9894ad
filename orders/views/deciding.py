"""Deciding what becomes of a finished pair, and starting a remake."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from dispensing.access import requires
from dispensing.queries.protection import why_protected
from dispensing.roles import Ability
from dispensing.views.requests import StaffRequest
from orders.forms.deciding import DecisionForm, RemakeForm
from orders.models import Order
from orders.progress import DECIDED, CannotHappen, EventKind, Place, may_follow
from orders.queries import for_page
from orders.services.deciding import accept, decide
from orders.services.errors import NotAsOrdered, NotRegistered
from orders.services.finished_pairs import standing
from orders.services.permitted import DECIDES
from orders.services.remakes import start_remake


@requires(DECIDES)
def order_decide(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """What becomes of the pair that came in."""
    order = get_object_or_404(for_page(), public_id=order_id)
    may = tuple(kind for kind in may_follow(Place(order.place)) if kind in DECIDED)
    form = DecisionForm(request.POST or None, may=may)
    if request.method == "POST" and form.is_valid():
        try:
            return _decided(request, order, dict(form.cleaned_data))
        except (CannotHappen, NotAsOrdered, NotRegistered) as refused:
            form.add_error("registered" if isinstance(refused, NotRegistered) else None, str(refused))
        except ValidationError as refused:
            add_faults(form, refused)
    context = {"order": order, "form": form, "may_decide": may}
    context["finished"] = standing(order)
    context["protected"] = why_protected(order.patient, timezone.localdate())
    return render(request, "orders/decide.html", context)


def _decided(request: StaffRequest, order: Order, told: dict[str, object]) -> HttpResponse:
    if told["kind"] == EventKind.PASSED:
        note, registered = str(told["reason"]), told["registered"]
        accept(order=order, actor=request.user, note=note, registered=registered)  # type: ignore[arg-type]  # from a form
        messages.success(request, f"Order {order.number} is checked and passed.")
        return redirect("order-page", order.public_id)
    _, remake = decide(order=order, actor=request.user, **told)  # type: ignore[arg-type]  # from a form
    if remake is None:
        messages.success(request, "Noted.")
        return redirect("order-page", order.public_id)
    messages.success(request, f"Noted. {remake.number} is begun as its remake: correct what must change, and send it.")
    return redirect("order-page", remake.public_id)


@requires(Ability.ORDER_EDIT)
def order_remake(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Begin a remake of an order that was sent, with its cause."""
    order = get_object_or_404(for_page(), public_id=order_id)
    form = RemakeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            remake = start_remake(first=order, actor=request.user, **form.cleaned_data)
            return redirect("order-page", remake.public_id)
        except ValidationError as refused:
            add_faults(form, refused)
    return render(request, "orders/remake.html", {"order": order, "form": form})


def add_faults(form: Form, refused: ValidationError) -> None:
    """Put each fault that a service names beside its field, and the others on top."""
    named = refused.error_dict if hasattr(refused, "error_dict") else {None: refused.error_list}
    for name, faults in named.items():
        form.add_error(name if name in form.fields else None, faults)
