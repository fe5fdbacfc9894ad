"""Between password and second factor: who has given the right password, kept for a few minutes and good for nothing.

Nobody is signed in before both are right, so nothing else has to ask whether a session is a whole one.
"""

from __future__ import annotations

import time
from typing import Any

from axes.handlers.proxy import AxesProxyHandler
from django.contrib.auth import login
from django.contrib.auth.signals import user_login_failed
from django.http import HttpRequest

from dispensing.models import StaffUser

KEY = "half_signed_in"
SECONDS = 5 * 60
CONFIRMED = "confirmed_at"
CONFIRMED_FOR = 10 * 60
BACKEND = "django.contrib.auth.backends.ModelBackend"


def begin(request: HttpRequest, user: StaffUser, goes_to: str) -> None:
    request.session[KEY] = {"user": user.pk, "hash": user.get_session_auth_hash(), "at": time.time(), "to": goes_to}


def who(request: HttpRequest) -> StaffUser | None:
    """Who gave the right password, if that was a moment ago and still is the right one."""
    kept: dict[str, Any] = request.session.get(KEY) or {}
    if not 0 <= time.time() - kept.get("at", 0) <= SECONDS:
        return None
    user = StaffUser.objects.filter(pk=kept["user"], is_active=True).first()
    return user if user is not None and user.get_session_auth_hash() == kept["hash"] else None


def finish(request: HttpRequest, user: StaffUser) -> str:
    """Sign in; where to go then."""
    goes_to = str(request.session.pop(KEY, {}).get("to", "/"))
    login(request, user, backend=BACKEND)
    password_given(request)
    return goes_to


def password_given(request: HttpRequest) -> None:
    request.session[CONFIRMED] = time.time()


def password_was_given(request: HttpRequest) -> bool:
    """In the last minutes: what guards a sign-in is not changed at a desk that somebody else has left."""
    return bool(0 <= time.time() - request.session.get(CONFIRMED, 0) <= CONFIRMED_FOR)


def is_locked_out(request: Any, user: StaffUser) -> bool:
    """As at the password; the answer is then the page of the lock-out."""
    credentials = {"username": user.get_username()}
    if AxesProxyHandler.is_allowed(request, credentials):
        return False
    request.axes_locked_out, request.axes_credentials = True, credentials
    return True


def count_failure(request: HttpRequest, user: StaffUser) -> None:
    """A wrong second factor counts like a wrong password."""
    user_login_failed.send(sender=__name__, credentials={"username": user.get_username()}, request=request)
