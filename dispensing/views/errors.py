"""Answers where no view answers: a page for people, a problem (RFC 9457) for programs."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views import defaults

API = "/api/"


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    if request.path.startswith(API):
        return _problem(404, "There is nothing at this address.")
    return defaults.page_not_found(request, exception)


def broken(request: HttpRequest) -> HttpResponse:
    if request.path.startswith(API):
        return _problem(500, "The server could not work this out. Nothing was changed.")
    return defaults.server_error(request)


def _problem(status: int, title: str) -> HttpResponse:
    body = {"type": "about:blank", "title": title, "status": status}
    return JsonResponse(body, status=status, content_type="application/problem+json")
