"""What a page of a draft is told instead of the draft when it could not be saved."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from orders.models import Order
from orders.presentation.conflict import differences
from orders.services.errors import SavedByAnother


def posted_version(request: HttpRequest) -> int:
    """The count of saves that the page was drawn with; 0 where it says none."""
    text = request.POST.getlist("version")[-1:] or ["0"]
    # No count is longer than nine figures, and a database refuses to compare much longer ones.
    return int(text[0]) if text[0].isdecimal() and len(text[0]) < 10 else 0


def conflict_answer(request: HttpRequest, order: Order, refused: SavedByAnother) -> HttpResponse:
    """Both versions, for the second person to decide."""
    context = {"order": order, "current": refused.current, "differences": differences(refused)}
    return render(request, "orders/_conflict.html", context)


def strip_answer(request: HttpRequest, text: str) -> HttpResponse:
    return render(request, "components/_strip.html", {"level": "stop", "text": text})
