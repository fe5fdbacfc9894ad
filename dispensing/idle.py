"""Signing out whoever has left the desk, and knowing in which browsers somebody is signed in.

One query a page reads the session's row (`SignedIn`) together with the practice's setting, and once a minute the row is
written to. What a page asks by itself, whether one is still signed in or who waits, is not somebody at the desk.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.contrib.auth.models import AnonymousUser
from django.db import DatabaseError
from django.db.models import Subquery
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import rotate_token
from django.utils import timezone

from dispensing.models import Practice, SignedIn
from dispensing.outages import FULL, READ_ONLY, outage_of
from dispensing.services.sessions import end_idle_session, note_seen, note_signed_in

ONLY_ASK = frozenset({"/still-signed-in/", "/waiting/"})
UNTIL_THE_PRACTICE_SAYS = Practice._meta.get_field("idle_minutes").default
SETTINGS = ("idle_minutes", "managers_need_second_factor")


class IdleMiddleware:
    """Stands after the middleware that knows who is signed in, and before all that ask."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        ended = False
        if "_auth_user_id" in request.session and request.user.is_authenticated:
            try:
                ended = self._see(request)
            except DatabaseError as fault:
                # Where nothing can be written, reading goes on; whoever left the desk was signed out before that.
                if outage_of(fault) not in (FULL, READ_ONLY):
                    raise
        response = self.get_response(request)
        return left_behind_nothing(request, response) if ended else response

    def _see(self, request: HttpRequest) -> bool:
        """Whether somebody was signed out, who has left the desk."""
        key = request.session.session_key or ""
        settings = {name: Subquery(Practice.objects.filter(pk=1).values(name)) for name in SETTINGS}
        row: Any = SignedIn.objects.annotate(**settings).filter(session_key=key).first()
        if row is None:  # begun before rows were kept
            assert request.user.is_authenticated
            note_signed_in(user=request.user, session_key=key, browser=request.META.get("HTTP_USER_AGENT", ""))
            return self._see(request)
        request.managers_need_second_factor = row.managers_need_second_factor  # type: ignore[attr-defined]  # for the gate
        if timezone.now() - row.last_at > timedelta(minutes=row.idle_minutes or UNTIL_THE_PRACTICE_SAYS):
            end_idle_session(row)
            request.session.flush()
            request.user = AnonymousUser()
            return True
        if request.path not in ONLY_ASK:
            note_seen(row)
        return False


def left_behind_nothing(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """The answer to a request that ended a session: pages in the browser's memory belong to somebody who has left.

    The browser is told to forget them, which it does over HTTPS alone; and ``answers.js`` hides each by the new token.
    A page that is open, and what is typed on it, stays: it is covered until its own person is back.
    """
    rotate_token(request)
    response.headers["Clear-Site-Data"] = '"cache"'
    return response
