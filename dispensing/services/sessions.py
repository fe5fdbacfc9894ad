"""Where somebody is signed in: a row is kept for each browser, and ending the row ends the session."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import transaction
from django.utils import timezone

from dispensing.models import SignedIn, StaffUser
from dispensing.origin import present_origin
from dispensing.services.audit import record

NOTED_EVERY = timedelta(minutes=1)
"""When somebody was last seen is written down once in so long, not with every page."""


def note_signed_in(*, user: StaffUser, session_key: str, browser: str) -> SignedIn:
    """Keep a row for a session that has just begun; rows of sessions that have run out go."""
    origin = present_origin()
    over = timezone.now() - timedelta(seconds=settings.SESSION_COOKIE_AGE)
    SignedIn.objects.filter(user=user, first_at__lt=over).delete()
    told = {"user": user, "browser": browser[:300], "address": origin.address if origin else ""}
    row, _ = SignedIn.objects.get_or_create(session_key=session_key, defaults=told)
    return row


def go_on_under(before: str, session_key: str) -> None:
    """The session has been given another key, as it is with a new password."""
    SignedIn.objects.filter(session_key=before).update(session_key=session_key)


def forget_session(session_key: str) -> None:
    """The session ends by itself: somebody signs out."""
    SignedIn.objects.filter(session_key=session_key).delete()


def note_seen(row: SignedIn) -> None:
    """Writes down that somebody is at it, to the minute."""
    now = timezone.now()
    if now - row.last_at > NOTED_EVERY:
        SignedIn.objects.filter(pk=row.pk).update(last_at=now)


def end_session(*, actor: StaffUser, session_id: UUID) -> bool:
    """Sign the person out of one of their own browsers; False if there is no such session."""
    row = SignedIn.objects.filter(user=actor, public_id=session_id).first()
    return row is not None and _end(actor, [row], "sign-out.elsewhere") > 0


def end_other_sessions(*, actor: StaffUser, but: str) -> int:
    """Sign the person out everywhere but in the session with this key; how many there were."""
    return _end(actor, list(SignedIn.objects.filter(user=actor).exclude(session_key=but)), "sign-out.elsewhere")


def end_all_sessions(*, user: StaffUser) -> int:
    """Sign somebody out everywhere, as part of what is noted by itself: a new password, the end of a sign-in."""
    return _end(user, list(SignedIn.objects.filter(user=user)), None)


def end_idle_session(row: SignedIn) -> None:
    """Sign somebody out who has left the desk."""
    _end(row.user, [row], "sign-out.idle")


def _end(actor: StaffUser, rows: list[SignedIn], verb: str | None) -> int:
    if not rows:
        return 0
    with transaction.atomic():
        Session.objects.filter(session_key__in=[row.session_key for row in rows]).delete()
        ended, _ = SignedIn.objects.filter(pk__in=[row.pk for row in rows]).delete()
        if verb and ended:
            changes = {"sessions": [None, str(ended)]} if ended > 1 else {}
            record(actor=actor, verb=verb, changes=changes)
    return ended
