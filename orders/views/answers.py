"""The answer a draft's page gets instead of the draft when it could not be saved."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from dispensing.services.meanwhile import ChangedMeanwhile
from orders.models import Order
from orders.presentation import conflict


def conflict_answer(request: HttpRequest, refused: ChangedMeanwhile) -> HttpResponse:
    """Both versions, for the second person to decide between."""
    current: Order = refused.record
    context = {"current": current, "differences": conflict.rows(current, refused.fields)}
    return render(request, "orders/_conflict.html", context)


def strip_answer(request: HttpRequest, text: str) -> HttpResponse:
    return render(request, "components/_strip.html", {"level": "stop", "text": text})
