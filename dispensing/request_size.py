"""Requests that are too large are refused by what they say of themselves, before anything of them is read.

A stranger has nothing larger to send than the form of the sign-in page. Staff send forms and documents, and files only
where a page takes them (``@takes_files``). A proxy in front is given the same limits by address (`largest_at`).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import Resolver404, resolve

from dispensing.access import access_of
from dispensing.api.problems import CONTENT_TYPE, problem

MOST_BYTES_OF_A_STRANGER = 64 * 1024
API = "/api/"
View = TypeVar("View", bound=Callable[..., Any])


def takes_files(view: View) -> View:
    """Marks a page or a view set that takes scans, photos or lists from staff; every other takes a form at most."""
    view.takes_files = True  # type: ignore[attr-defined]  # functions accept the attribute
    return view


def largest_at(path: str) -> int:
    """The most bytes that anybody at all may send to an address."""
    try:
        view = resolve(path).func
    except Resolver404:
        return MOST_BYTES_OF_A_STRANGER
    if getattr(getattr(view, "cls", view), "takes_files", False):
        return int(settings.MOST_BYTES_OF_AN_UPLOAD)
    access = access_of(view)
    if access is not None and access.open_to_all and not path.startswith(API):
        return MOST_BYTES_OF_A_STRANGER
    return int(settings.DATA_UPLOAD_MAX_MEMORY_SIZE)


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
        known = "HTTP_AUTHORIZATION" in request.META
    else:
        known = request.user.is_authenticated
    return largest_at(request.path_info) if known else MOST_BYTES_OF_A_STRANGER
