"""The board: every order with where it is, for how long, and when its pair is needed and expected."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from dispensing.access import requires
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability
from dispensing.views.lists import say_where_no_such_page
from dispensing.views.requests import StaffRequest
from dispensing.views.taking_out import taken_out
from orders.board_queries import can_be_sorted, sorted_board, whole_board
from orders.forms.board import BoardForm, BoardSearchForm
from orders.order_numbers import names_its_series
from orders.presentation.board import FILE_HEADS, address, chosen, file_rows, heads, rows, stuck_first, tabs
from orders.presentation.ways import place_word
from orders.progress import Place
from orders.queries import order_of_number, place_counts

PLACES = [(str(place), place_word(str(place))) for place in Place]


@lists_patients
@requires(Ability.ORDER_VIEW)
def order_list(request: HttpRequest) -> HttpResponse:
    """GET: filters, sort and page as the address has them. POST: the same for what was searched for besides."""
    asked, text = _asked(request)
    found = order_of_number(text) if names_its_series(text) else None
    if found is not None:
        return redirect("order-page", found.public_id)
    for said in asked.gone:
        messages.warning(request, said)
    wanted, sort = asked.wanted(text), asked.asked.get("sort", "")
    page = sorted_board(wanted, sort, after=_sent(request).get("after", ""))
    say_where_no_such_page(request, page)
    context = {
        "rows": rows(page.rows),
        "next_key": page.next_key,
        "next_url": address(asked.asked, page.next_key) if page.next_key else "",
        "heads": heads(asked.asked, sortable=can_be_sorted(wanted) and not text),
        "search": BoardSearchForm({"text": text}),
        "text": text,
    }
    return render(request, "orders/list.html", context | _narrowing(asked))


def _sent(request: HttpRequest) -> Any:
    return request.POST if request.method == "POST" else request.GET


def _asked(request: HttpRequest) -> tuple[BoardForm, str]:
    form = BoardForm(_sent(request), places=PLACES)
    search = BoardSearchForm(request.POST if request.method == "POST" else {})
    return form, search.cleaned_data["text"] if search.is_valid() else ""


def _narrowing(form: BoardForm) -> dict[str, Any]:
    counts, words = place_counts(), form.words()
    return {
        "tabs": tabs(counts, form.asked),
        "counts": {name: sum(getattr(count, name) for count in counts.values()) for name in ("orders", "late", "soon")},
        "filters": form,
        "kept": form.asked,
        "chosen": chosen(form.asked, words),
        "stuck_first": stuck_first(form.asked),
        "here_url": address(form.asked),
        "asked": ", ".join(words.values()),
    }


@lists_patients
@requires(Ability.LIST_TAKE_OUT, Ability.ORDER_VIEW, Ability.PATIENT_VIEW)
@require_POST
def order_list_csv(request: StaffRequest) -> HttpResponseBase:
    """The whole list as it is narrowed, searched and sorted."""
    form, text = _asked(request)
    asked = form.words() | {"search": "for a number or a person" if text else ""}
    found = whole_board(form.wanted(text), form.asked.get("sort", ""))
    return taken_out(request, "orders", FILE_HEADS, file_rows(found), asked=asked)
