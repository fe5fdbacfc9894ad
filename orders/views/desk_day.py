"""The desk's day: whom to call, what is ready to collect, and what labs ask. Nobody need open an order for it."""

from __future__ import annotations

import uuid
from itertools import chain
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from dispensing.access import requires
from dispensing.queries.paging import every_row
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability
from dispensing.views.lists import say_where_no_such_page
from dispensing.views.requests import StaffRequest
from dispensing.views.taking_out import taken_out
from orders import desk_queries
from orders.forms.desk_day import CallForm, CounterForm, days_asked
from orders.models import Order
from orders.presentation.desk_day import HEADS, desk_rows, desk_table, waiting_tabs
from orders.progress import BY_HAND, CannotHappen, Place
from orders.queries import place_counts
from orders.services.calling import HappenedMeanwhile, note_call

NO_SUCH_CHOICE = "This list cannot be narrowed by that; everything that is ready is shown."


@lists_patients
@requires(Ability.ORDER_VIEW, Ability.PATIENT_VIEW)
def desk_day(request: StaffRequest) -> HttpResponse:
    """GET shows the day; POST also finds whoever stands at the counter."""
    days = days_asked(request.GET.get("days", ""))
    if days is None:
        messages.warning(request, NO_SUCH_CHOICE)
    pages = {
        "tell": desk_queries.to_tell(request.GET.get("tell", "")),
        "collect": desk_queries.to_collect(days or 0, request.GET.get("collect", "")),
        "asked": desk_queries.questions(request.GET.get("asked", "")),
    }
    say_where_no_such_page(request, *pages.values())
    counts, waiting = desk_queries.uncollected_counts(), place_counts()
    context: dict[str, Any] = {name: desk_rows(page.rows) for name, page in pages.items()}
    context |= {f"{name}_next": page.next_key for name, page in pages.items()}
    context |= {
        "days": days or 0,
        "kept": {"days": days} if days else {},
        "tabs": waiting_tabs(dict(counts), days or 0),
        "ready": counts[0],
        "to_tell": waiting[str(Place.TO_TELL)].orders,
        "open": waiting[str(Place.QUERY_OPEN)].orders,
    }
    return render(request, "desk/day.html", context | _at_the_counter(request))


def _at_the_counter(request: StaffRequest) -> dict[str, Any]:
    form = CounterForm(request.POST if request.method == "POST" else None)
    text = form.cleaned_data["text"] if form.is_bound and form.is_valid() else ""
    found = desk_rows(desk_queries.at_the_counter(text)) if text else []
    return {"counter": form, "text": text, "found": found}


@requires(Ability.ORDER_VIEW, Ability.PATIENT_VIEW)
@require_POST
def desk_call(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Note a call or a word about one order, and go back to its row."""
    order = get_object_or_404(Order, public_id=order_id)
    form = CallForm(request.POST)
    if form.is_valid():
        try:
            event = note_call(order=order, actor=request.user, **form.cleaned_data)
            messages.success(request, f"{order.number}: “{BY_HAND[event.kind]}” is noted.")  # type: ignore[index]  # an EventKind
        except (CannotHappen, HappenedMeanwhile) as refused:
            messages.error(request, f"{order.number}: {refused}")
    else:
        said = " ".join(str(fault) for faults in form.errors.values() for fault in faults)
        messages.error(request, f"{order.number}: {said}")
    return redirect(f"{reverse('desk-day')}#{order.number}")


@lists_patients
@requires(Ability.LIST_TAKE_OUT, Ability.ORDER_VIEW, Ability.PATIENT_VIEW)
@require_POST
def desk_day_csv(request: StaffRequest) -> HttpResponseBase:
    """What waits to be told and to be collected, as narrowed."""
    days = days_asked(request.POST.get("days", "")) or 0
    lists = (desk_queries.waiting_at(Place.TO_TELL), desk_queries.uncollected(days))
    rows = chain.from_iterable(every_row(one, order=desk_queries.LONGEST_FIRST) for one in lists)
    asked = {"days": str(days) if days else ""}
    return taken_out(request, "to-collect", HEADS, desk_table(rows), asked=asked)
