"""The practice's own price list: taken in, looked at, taken into use or put back, and downloaded."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.request_size import takes_files
from dispensing.roles import Ability
from dispensing.views.requests import StaffRequest
from orders.forms.prices import PricesForm
from orders.models import PriceList
from orders.queries import price_lists
from orders.services.price_looks import look_at_prices
from orders.services.prices import FaultyPrices, stop_using_prices, take_in_prices, use_prices


@requires(Ability.LAB_EDIT)
@takes_files
def price_page(request: StaffRequest) -> HttpResponse:
    """All lists, and a new one given by POST: every faulty row of it is named, or it is shown to be looked at."""
    form = PricesForm(request.POST or None, request.FILES or None)
    if request.method != "POST" or not form.is_valid():
        return _page(request, form)
    try:
        taken = take_in_prices(content=form.cleaned_data["file"].read(), actor=request.user)
    except FaultyPrices as refused:
        return _page(request, form, faults=refused.faults)
    return redirect("price-look", taken.public_id)


@requires(Ability.LAB_EDIT)
@require_safe
def price_look(request: StaffRequest, prices_id: uuid.UUID) -> HttpResponse:
    return render(request, "labs/price_look.html", {"look": look_at_prices(_prices(prices_id))})


@requires(Ability.LAB_EDIT)
@require_POST
def price_use(request: StaffRequest, prices_id: uuid.UUID) -> HttpResponse:
    use_prices(prices=_prices(prices_id), actor=request.user)
    messages.success(request, "This price list is in use: the comparison of lenses goes by it.")
    return redirect("price-page")


@requires(Ability.LAB_EDIT)
@require_POST
def price_stop(request: StaffRequest) -> HttpResponse:
    stop_using_prices(actor=request.user)
    messages.success(request, "No price list of our own is in use: the comparison goes by the catalogues’ prices.")
    return redirect("price-page")


@requires(Ability.LAB_EDIT)
@require_safe
def price_csv(request: StaffRequest, prices_id: uuid.UUID) -> HttpResponse:
    return HttpResponse(
        _prices(prices_id).text,
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": 'attachment; filename="prices.csv"'},
    )


def _prices(prices_id: uuid.UUID) -> PriceList:
    return get_object_or_404(PriceList.objects.select_related("loaded_by"), public_id=prices_id)


def _page(request: StaffRequest, form: PricesForm, **context: Any) -> HttpResponse:
    return render(request, "labs/prices.html", {"form": form, "lists": price_lists()} | context)
