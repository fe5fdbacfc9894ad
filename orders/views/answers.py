"""The answers that a draft's page gets: the draft judged again, or why it could not be saved."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from dispensing.services.meanwhile import ChangedMeanwhile
from orders.models import Order
from orders.presentation import conflict
from orders.presentation.desk import judged_page
from orders.services.judging import Judgement


def conflict_answer(request: HttpRequest, refused: ChangedMeanwhile) -> HttpResponse:
    """Both versions, for the second person to decide between."""
    current: Order = refused.record
    context = {"current": current, "differences": conflict.rows(current, refused.fields)}
    return render(request, "orders/_conflict.html", context)


def refused_answer(request: HttpRequest, text: str) -> HttpResponse:
    return render(request, "orders/_refused.html", {"text": text})


def live_answer(
    request: HttpRequest,
    order: Order,
    judged: Judgement,
    *,
    slots: dict[str, list[str]] | None = None,
    taken: dict[str, list[str]] | None = None,
) -> HttpResponse:
    """The draft judged again, for the parts of the page that show it.

    slots: what is wrong with each field that was sent. taken: every control with its values, if the change was made
    by the server and not typed, so that the page can show it.
    """
    context = {**judged_page(order, judged), "slots": slots or {}, "taken": taken}
    return render(request, "orders/_live.html", context)
