"""The list of orders by where they are, with counts and late marks."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from dispensing.access import requires
from dispensing.roles import Ability
from orders.forms.board import BoardForm
from orders.progress import FINISHED, Place
from orders.queries import BoardFilter, board, place_counts

PLACES = {str(place) for place in Place}


@requires(Ability.ORDER_VIEW)
@require_safe
def order_list(request: HttpRequest) -> HttpResponse:
    form = BoardForm(request.GET)
    chosen = form.cleaned_data if form.is_valid() else {}
    place = request.GET.get("place", "")
    place = place if place in PLACES else ""
    lab, show = chosen.get("lab", ""), chosen.get("show", "")
    wanted = BoardFilter(place=place, lab=lab, late=show == "late", unsent=show == "unsent")
    page = board(wanted, after=request.GET.get("after", ""))
    counts = place_counts()
    context = {
        "rows": page.rows,
        "next_url": _address(place, lab, show, page.next_key) if page.next_key else "",
        "tabs": tabs(place, lab, show),
        "counts": {
            "all": sum(count.orders for count in counts.values()),
            "late": sum(count.late for count in counts.values()),
        },
        "filters": form,
        "place": place,
        "narrowed": bool(place or lab or show),
        "asked": ", ".join(filter(None, [place.capitalize(), *form.words()])),
    }
    return render(request, "orders/list.html", context)


def tabs(current: str = "", lab: str = "", show: str = "", *, open_only: bool = False) -> list[dict[str, Any]]:
    """One tab a place that holds orders, and one for all of them; ``open_only`` leaves out what is done with."""
    counts = place_counts()
    found = [
        {
            "label": str(place).capitalize(),
            "count": counts[str(place)].orders,
            "late": counts[str(place)].late,
            "url": _address(str(place), lab, show),
            "current": current == str(place),
        }
        for place in Place
        if (counts[str(place)].orders or current == str(place)) and not (open_only and place in FINISHED)
    ]
    if open_only:
        return found
    total = {"label": "All", "count": sum(count.orders for count in counts.values()), "late": 0}
    return [{**total, "url": _address("", lab, show), "current": not current}, *found]


def _address(place: str, lab: str, show: str, after: str = "") -> str:
    asked = {"place": place, "lab": lab, "show": show, "after": after}
    query = urlencode({name: value for name, value in asked.items() if value})
    return f"{reverse('order-list')}?{query}" if query else reverse("order-list")
