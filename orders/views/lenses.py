"""The comparison of every lens on offer for a draft, and taking one of them into the order."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.views.meanwhile import posted_version
from dispensing.views.requests import StaffRequest
from orders.documents.lens_order import EYES
from orders.facts import order_document
from orders.forms.asked import fields_asked
from orders.models import Lab, Order
from orders.options.lenses.offers import Offer
from orders.presentation import conflict
from orders.presentation.lenses.asked import LensesAsked
from orders.presentation.lenses.page import LensesPage
from orders.queries import for_page
from orders.services.applying import fields_of_change
from orders.services.comparing import lens_offered
from orders.services.drafts import save_draft
from orders.states import NotAllowed

NO_DRAFT = "This order is no longer a draft, so its lenses cannot be chosen any more."
NOT_ON_OFFER = "This lens is not on offer any more: the draft or the catalogue has changed. Choose again."


@requires(Ability.ORDER_EDIT)
@require_safe
def order_lenses(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    order = get_object_or_404(for_page(), public_id=order_id)
    if not order.is_draft:
        messages.error(request, NO_DRAFT)
        return redirect("order-page", order.public_id)
    return render(request, "orders/lenses.html", LensesPage.of(order, LensesAsked.of(request.GET)).context())


@requires(Ability.ORDER_EDIT)
@require_POST
def order_take_lens(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Put the lens named by ``lens`` into the draft, for every eye that it has a lens for."""
    order = get_object_or_404(for_page(), public_id=order_id)
    found = lens_offered(order, request.POST.get("lens", ""))
    if found is None:
        messages.error(request, NOT_ON_OFFER)
        return redirect("order-lenses", order.public_id)
    lab, offer = found
    try:
        fields = fields_asked(order, _fields(order, lab, offer))
        save_draft(order=order, actor=request.user, version=posted_version(request), fields=fields)
    except ChangedMeanwhile as refused:
        return _conflict(request, refused)
    except NotAllowed:
        messages.error(request, NO_DRAFT)
        return redirect("order-page", order.public_id)
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
        return redirect("order-lenses", order.public_id)
    messages.success(request, f"Taken into the order: {offer.design.name}, {offer.material.name}.")
    return redirect("order-page", order.public_id)


def _fields(order: Order, lab: Lab, offer: Offer) -> dict[str, Any]:
    """The draft's fields with this lens; where no eye has a lens yet, both get it."""
    eyes = order_document(order).ordered_eyes
    if not eyes:
        eyes, order.lenses = EYES, {eye: {"treatments": []} for eye in EYES}
    chosen = {**offer.choice, "treatments": list(offer.treatments)}
    fields = fields_of_change(order, {f"lenses.{eye}.{key}": value for eye in eyes for key, value in chosen.items()})
    return fields if lab == order.lab else {**fields, "lab": lab}


def _conflict(request: StaffRequest, refused: ChangedMeanwhile) -> HttpResponse:
    """Both versions on a page of their own, with the same choice to be made again on top of what is now saved."""
    current: Order = refused.record
    context = {
        "current": current,
        "order": current,
        "differences": conflict.rows(current, refused.fields),
        "lens": request.POST["lens"],
    }
    return render(request, "orders/lenses_conflict.html", context, status=409)
