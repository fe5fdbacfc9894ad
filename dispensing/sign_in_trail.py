"""Sign-ins, failures, lock-outs and sign-outs on the audit trail, whichever page they come from.

No password is ever kept, and what was typed as a name only where somebody has that name: people type their password
into the wrong field. Outside a request (tests and commands that sign somebody in) nothing is noted.
"""

from __future__ import annotations

from typing import Any

from axes.attempts import get_cool_off_threshold
from axes.signals import user_locked_out
from django.contrib.auth.signals import user_logged_in, user_logged_out, user_login_failed
from django.http import HttpRequest
from knox.signals import token_expired

from dispensing.models import AuditEvent, StaffUser
from dispensing.origin import present_origin
from dispensing.services.audit import record
from dispensing.services.sessions import forget_session, note_signed_in


def connect() -> None:
    """After the lock-out, which is loaded earlier and says whether a failure was the one too many."""
    for signal, heard in (
        (token_expired, _token_ended),
        (user_logged_in, _signed_in),
        (user_logged_out, _signed_out),
        (user_login_failed, _failed),
        (user_locked_out, _locked_out),
    ):
        signal.connect(heard, dispatch_uid=heard.__name__)


def _signed_in(*, user: StaffUser, request: HttpRequest, **_: Any) -> None:
    if present_origin() is not None:
        record(actor=user, verb="sign-in.done")
        browser = request.META.get("HTTP_USER_AGENT", "")
        note_signed_in(user=user, session_key=request.session.session_key or "", browser=browser)


def _signed_out(*, user: StaffUser | None, request: HttpRequest, **_: Any) -> None:
    if present_origin() is not None and user is not None:
        record(actor=user, verb="sign-out.done")
        forget_session(request.session.session_key or "")


def _failed(*, credentials: dict[str, Any], request: HttpRequest | None = None, **_: Any) -> None:
    """The failure that locks is told by the lock-out alone, and what is tried while locked by nothing."""
    if present_origin() is not None and not getattr(request, "axes_locked_out", False):
        if person := _known(credentials.get("username")):
            record(actor=person, verb="sign-in.failed")
        else:
            record(actor=None, verb="sign-in.unknown")


def _locked_out(*, request: HttpRequest, username: str | None, **_: Any) -> None:
    origin, person = present_origin(), _known(username)
    if origin is None:
        return
    told = AuditEvent.objects.filter(
        verb="sign-in.locked", actor=person, address=origin.address, at__gte=get_cool_off_threshold(request)
    )
    if not told.exists():
        record(actor=person, verb="sign-in.locked")


def _known(username: Any) -> StaffUser | None:
    name = str(username or "")
    return StaffUser.objects.filter(username=name).first() if name and "\x00" not in name else None


def _token_ended(*, username: str, **_: Any) -> None:
    """Its day had come; whoever called with it last was refused."""
    record(actor=_known(username), verb="token.ended")
