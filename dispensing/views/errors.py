"""Answers when no view does: a page for people, a problem (RFC 9457) for programs."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views import defaults

from dispensing.api.problems import CONTENT_TYPE, problem

API = "/api/"


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    if request.path.startswith(API):
        return _problem(404, "There is nothing at this address.")
    return defaults.page_not_found(request, exception)


def broken(request: HttpRequest) -> HttpResponse:
    if request.path.startswith(API):
        return _problem(500, "The server could not work this out. Nothing was changed.")
    return defaults.server_error(request)


def _problem(status: int, detail: str) -> HttpResponse:
    return JsonResponse(problem(status, detail), status=status, content_type=CONTENT_TYPE)
