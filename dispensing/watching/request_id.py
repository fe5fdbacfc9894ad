"""The number of the request that is being answered: in its answer, in every line of the log, and on error pages."""

from __future__ import annotations

import re
import uuid
from contextvars import ContextVar
from typing import Any

from django.conf import settings
from django.core.signals import request_finished
from django.http import HttpRequest

HEADER = "X-Request-ID"
WELL_FORMED = re.compile(r"[0-9A-Za-z-]{8,64}")

_current: ContextVar[str] = ContextVar("request_id", default="")


def current() -> str:
    """Empty outside any request."""
    return _current.get()


def begin(request: HttpRequest) -> str:
    """The number that a proxy of our own gave it, or a new one: a stranger's word has no place in the log."""
    given = request.headers.get(HEADER, "") if settings.TRUSTED_PROXIES else ""
    number = given if WELL_FORMED.fullmatch(given) else uuid.uuid4().hex
    _current.set(number)
    return number


def _end(**_: Any) -> None:
    _current.set("")


# Not by the middleware: Django writes what became of a request into the log when all middleware is done.
request_finished.connect(_end, dispatch_uid="the request has ended")
