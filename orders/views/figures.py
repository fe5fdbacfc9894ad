"""Each lab's hand: pages, pictures and CSV, for managers."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from dispensing.access import requires
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability
from dispensing.views.requests import StaffRequest
from dispensing.views.taking_out import taken_out
from orders.figure_queries import readings_since
from orders.figures.charts import drift_chart
from orders.figures.hand import Hand, every_hand
from orders.forms.figures import FiguresForm
from orders.presentation.figures import (
    HAND_HEADS,
    PAIR_HEADS,
    hand_rows,
    hand_table,
    pair_table,
)


@requires(Ability.FIGURES_VIEW)
@require_safe
def lab_hand(request: StaffRequest) -> HttpResponseBase:
    """Every lab's readings against what was ordered, by design and quantity; those outside their limits first."""
    form = FiguresForm.of(request.GET)
    rows = hand_rows(every_hand(readings_since(form.since)), form.chosen)
    if request.GET.get("as") == "csv":
        return taken_out(request, "lab-hand", HAND_HEADS, hand_table(rows))
    if form.gone:
        messages.warning(request, form.gone)
    return render(request, "figures/lab_hand.html", {"filters": form, "rows": rows, "months": form.chosen})


@lists_patients
@requires(Ability.FIGURES_VIEW)
@require_safe
def lab_hand_pairs(request: StaffRequest) -> HttpResponseBase:
    """One chart with the pairs that it is made of."""
    form = FiguresForm.of(request.GET)
    hand = _asked(request, form)
    if request.GET.get("as") == "csv":
        return taken_out(request, "lab-hand-pairs", PAIR_HEADS, pair_table(hand))
    (row,) = hand_rows([hand], form.chosen)
    context = {"hand": hand, "row": row, "heads": PAIR_HEADS, "pairs": pair_table(hand), "months": form.chosen}
    return render(request, "figures/lab_hand_pairs.html", context)


@requires(Ability.FIGURES_VIEW)
@require_safe
def lab_hand_chart(request: StaffRequest) -> HttpResponseBase:
    return as_picture(drift_chart(_asked(request, FiguresForm.of(request.GET))))


def _asked(request: StaffRequest, form: FiguresForm) -> Hand:
    asked = tuple(request.GET.get(name, "") for name in ("lab", "design", "quantity"))
    found = (hand for hand in every_hand(readings_since(form.since)) if (hand.lab, hand.design, hand.quantity) == asked)
    hand = next(found, None)
    if hand is None:
        raise Http404("Nothing of this was read in that time.")
    return hand


def as_picture(svg: str) -> HttpResponse:
    return HttpResponse(svg, content_type="image/svg+xml", headers={"Cache-Control": "private, no-store"})
