"""Where what is being done now comes from: the address that asked, and the API token if it was a program.

Set once for each request and read wherever something is noted, so that no service has to hand it on. Outside a request
(a command, the sender) nothing came from anywhere.
"""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse

from dispensing.client_address import client_address

LONGEST_ADDRESS = 45  # an IPv6 address that holds an IPv4 one


@dataclass
class Origin:
    """``token``: the name of the API token, known once it was read; empty for a person at a browser."""

    address: str
    token: str = ""


_present: ContextVar[Origin | None] = ContextVar("origin", default=None)


def present_origin() -> Origin | None:
    return _present.get()


class OriginMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        origin = Origin(client_address(request)[:LONGEST_ADDRESS].replace("\x00", ""))
        before = _present.set(origin)
        try:
            return self.get_response(request)
        finally:
            _present.reset(before)
