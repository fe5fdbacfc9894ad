"""Answers when no view does: a page for people, a problem (RFC 9457) for programs.

Where the machine is at fault and not the program, the page says what is wrong with it and keeps what was typed.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from http import HTTPStatus
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.template.loader import render_to_string
from django.views import defaults

from dispensing.api.problems import CONTENT_TYPE, problem
from dispensing.outages import FILE_MISSING, Outage, outage_of
from dispensing.views.files import FileGone
from dispensing.watching import request_id

API = "/api/"
SECONDS_TO_TRY_AGAIN = 30
NOT_KEPT = {"csrfmiddlewaretoken"}


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    if request.path.startswith(API):
        return _problem(404, "There is nothing at this address.")
    if isinstance(exception, FileGone):
        return _out_of_order(request, replace(FILE_MISSING, said=str(exception)))
    return defaults.page_not_found(request, exception)


def broken(request: HttpRequest) -> HttpResponse:
    outage = outage_of(sys.exc_info()[1])
    if outage is not None:
        return _out_of_order(request, outage)
    if request.path.startswith(API):
        return _problem(
            500, f"The server could not work this out. Nothing was changed. Request {request_id.current()}."
        )
    return HttpResponse(render_to_string("500.html", {"request_id": request_id.current()}), status=500)


def _out_of_order(request: HttpRequest, outage: Outage) -> HttpResponse:
    if request.path.startswith(API):
        response = _problem(outage.status, f"{outage.said} Nothing was changed.")
    else:
        response = HttpResponse(render_to_string("outage.html", _page(request, outage)), status=outage.status)
    if outage.status == HTTPStatus.SERVICE_UNAVAILABLE:
        response.headers["Retry-After"] = str(SECONDS_TO_TRY_AGAIN)
    response.headers["Cache-Control"] = "no-store"
    return response


def _page(request: HttpRequest, outage: Outage) -> dict[str, Any]:
    sent = request.method == "POST"
    fields = [(name, value) for name in request.POST for value in request.POST.getlist(name)] if sent else []
    secret = any("password" in name for name, _ in fields)
    typed = [] if secret else [(name, value) for name, value in fields if name not in NOT_KEPT]
    return {
        "outage": outage,
        "sent": sent,
        "typed": typed,
        "files": sent and bool(request.FILES),
        "address": request.get_full_path(),
        "token": get_token(request) if typed else "",
        "request_id": request_id.current(),
    }


def _problem(status: int, detail: str) -> HttpResponse:
    return JsonResponse(problem(status, detail), status=status, content_type=CONTENT_TYPE)
