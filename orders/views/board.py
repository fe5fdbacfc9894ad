"""The list of orders by place, with counts and late marks."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from dispensing.access import requires
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability
from orders.forms.board import BoardForm
from orders.presentation.board import address, tabs
from orders.presentation.ways import place_word
from orders.progress import Place
from orders.queries import BoardFilter, board, place_counts

PLACES = {str(place) for place in Place}


@lists_patients
@requires(Ability.ORDER_VIEW)
@require_safe
def order_list(request: HttpRequest) -> HttpResponse:
    form = BoardForm(request.GET)
    chosen = form.cleaned_data if form.is_valid() else {}
    place = request.GET.get("place", "")
    place = place if place in PLACES else ""
    lab, show = chosen.get("lab", ""), chosen.get("show", "")
    only: dict[str, Any] = {show: True} if show else {}
    wanted = BoardFilter(place=place, lab=lab, **only)
    page = board(wanted, after=request.GET.get("after", ""))
    counts = place_counts()
    context = {
        "rows": page.rows,
        "next_url": address(place, lab, show, page.next_key) if page.next_key else "",
        "tabs": tabs(counts, place, lab, show),
        "counts": {
            "open": sum(count.orders for count in counts.values()),
            "late": sum(count.late for count in counts.values()),
        },
        "filters": form,
        "place": place,
        "narrowed": bool(place or lab or show),
        "asked": ", ".join(filter(None, [place and place_word(place), *form.words()])),
    }
    return render(request, "orders/list.html", context)
