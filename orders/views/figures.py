"""Each lab's hand, and what was made again: pages, pictures and CSV, for managers."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from dispensing.access import requires
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability
from dispensing.views.requests import StaffRequest
from dispensing.views.taking_out import taken_out
from orders.figure_queries import pairs_since, readings_since
from orders.figures.charts import drift_chart, shares_chart
from orders.figures.hand import Hand, every_hand
from orders.figures.remade import BY, in_all, shares
from orders.forms.figures import FiguresForm
from orders.presentation.figures import (
    CAUSE_HEADS,
    HAND_HEADS,
    PAIR_HEADS,
    SHARE_HEADS,
    cause_table,
    hand_rows,
    hand_table,
    pair_table,
    remake_tables,
)


@requires(Ability.FIGURES_VIEW)
@require_safe
def lab_hand(request: StaffRequest) -> HttpResponseBase:
    """Every lab's readings against what was ordered, by design and quantity; those outside their limits first."""
    form = FiguresForm.of(request.GET)
    rows = hand_rows(every_hand(readings_since(form.since)), form.chosen)
    if request.GET.get("as") == "csv":
        return taken_out(request, "lab-hand", HAND_HEADS, hand_table(rows))
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
    return _picture(drift_chart(_asked(request, FiguresForm.of(request.GET))))


@requires(Ability.FIGURES_VIEW)
@require_safe
def remakes(request: StaffRequest) -> HttpResponseBase:
    """What was made again, by lab, design, dispenser and mount, and why."""
    form = FiguresForm.of(request.GET)
    pairs = pairs_since(form.since)
    tables, by_cause = remake_tables(pairs, form.chosen), cause_table(pairs)
    wanted = request.GET.get("as")
    if wanted == "causes":
        return taken_out(request, "remakes-causes", CAUSE_HEADS, by_cause)
    if wanted in BY:
        return taken_out(
            request, f"remakes-{wanted}", SHARE_HEADS, next(t["rows"] for t in tables if t["by"] == wanted)
        )
    context = {"filters": form, "tables": tables, "causes": by_cause, "cause_heads": CAUSE_HEADS}
    return render(request, "figures/remakes.html", context | {"pairs": len(pairs), "months": form.chosen})


@requires(Ability.FIGURES_VIEW)
@require_safe
def remakes_chart(request: StaffRequest) -> HttpResponseBase:
    by = request.GET.get("by", "")
    if by not in BY:
        raise Http404("There is no such chart.")
    pairs = pairs_since(FiguresForm.of(request.GET).since)
    return _picture(shares_chart([*shares(pairs, by), in_all(pairs)], BY[by][0].lower()))


def _asked(request: StaffRequest, form: FiguresForm) -> Hand:
    asked = tuple(request.GET.get(name, "") for name in ("lab", "design", "quantity"))
    found = (hand for hand in every_hand(readings_since(form.since)) if (hand.lab, hand.design, hand.quantity) == asked)
    hand = next(found, None)
    if hand is None:
        raise Http404("Nothing of this was read in that time.")
    return hand


def _picture(svg: str) -> HttpResponse:
    return HttpResponse(svg, content_type="image/svg+xml", headers={"Cache-Control": "private, no-store"})
