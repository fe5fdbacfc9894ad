"""Requests that are too large are refused by what they say of themselves, before anything of them is read.

A stranger has nothing larger to send than the form of the sign-in page. Django refuses a form or a document of more
than ``DATA_UPLOAD_MAX_MEMORY_SIZE``, but reads any number of files first; this limits those of staff as well.
"""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

from dispensing.api.problems import CONTENT_TYPE, problem

MOST_BYTES_OF_A_STRANGER = 64 * 1024
API = "/api/"


class RequestSizeMiddleware:
    """Answers 413 to a body larger than its sender may send. Stands after those who know who is signed in."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        most = _most_bytes(request)
        if _stated_bytes(request) <= most:
            return self.get_response(request)
        said = f"This is larger than the {most // 1024:,} kB that can be taken here. Nothing of it was read."
        if request.path.startswith(API):
            return JsonResponse(problem(413, said), status=413, content_type=CONTENT_TYPE)
        return render(request, "413.html", {"said": said}, status=413)


def _stated_bytes(request: HttpRequest) -> int:
    """A body without a stated length is none to WSGI."""
    stated = request.META.get("CONTENT_LENGTH", "")
    return int(stated) if stated.isdecimal() else 0


def _most_bytes(request: HttpRequest) -> int:
    """Asks who is signed in only for a large body: that costs a query."""
    if _stated_bytes(request) <= MOST_BYTES_OF_A_STRANGER:
        return MOST_BYTES_OF_A_STRANGER
    if request.path.startswith(API):
        has_token = "HTTP_AUTHORIZATION" in request.META
        return settings.DATA_UPLOAD_MAX_MEMORY_SIZE if has_token else MOST_BYTES_OF_A_STRANGER
    return settings.MOST_BYTES_OF_AN_UPLOAD if request.user.is_authenticated else MOST_BYTES_OF_A_STRANGER
