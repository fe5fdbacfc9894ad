"""API tokens: issued, shown once, and ended. Only a digest is kept, so nobody can read a token again.

A token acts with the role of the person, or of the lab, it was issued to; one that only reads changes nothing. It ends
by itself on a day that is known from the start, and with its owner's sign-in.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from knox.models import AuthToken

from dispensing.models import Practice, StaffUser, TokenDetail
from dispensing.models.tokens import Scope
from dispensing.roles import Role
from dispensing.services.audit import record

MOST_TOKENS = 10
NOTED_EVERY = timedelta(minutes=1)
"""A program asks many times a second: that it did is written down once in so long."""


class TokenRefused(ValueError):
    """Why no token was issued, worded for the person who asked."""


def issue_token(
    *, actor: StaffUser, user: StaffUser, name: str = "Program", scope: str = Scope.WRITE, days: int | None = None
) -> str:
    """A new token for ``user``; the text returned is not kept anywhere.

    ``days``: how long it lasts; the practice's setting is what it lasts without them, and the longest that it may.
    """
    longest = Practice.current().token_days
    with transaction.atomic():
        user = StaffUser.objects.select_for_update().get(pk=user.pk)
        if not user.is_active:
            raise TokenRefused(f"{user.display_name} cannot sign in at present. Let them sign in again first.")
        if AuthToken.objects.filter(user=user).count() >= MOST_TOKENS:
            raise TokenRefused(f"{user.display_name} has {MOST_TOKENS} tokens already. Take back one that is not used.")
        token, text = AuthToken.objects.create(user=user, expiry=timedelta(days=min(days or longest, longest)))
        detail = TokenDetail.objects.create(token=token, name=name, scope=scope)
        record(actor=actor, verb="token.issue", target=user, changes=_of(user, detail))
    return str(text)


def revoke_token(*, actor: StaffUser, user: StaffUser, token_id: UUID) -> bool:
    """Ends one token of ``user`` by its public id; False if there is no such token."""
    with transaction.atomic():
        detail = TokenDetail.objects.filter(token__user=user, public_id=token_id).first()
        if detail is None:
            return False
        told = _of(user, detail)
        detail.token.delete()
        record(actor=actor, verb="token.revoke", target=user, changes=told)
    return True


def revoke_all_tokens(*, actor: StaffUser, user: StaffUser) -> int:
    """Ends every token of ``user``; may be called inside a transaction or on its own."""
    with transaction.atomic():
        ids = list(TokenDetail.objects.filter(token__user=user).values_list("public_id", flat=True))
        for token_id in ids:
            revoke_token(actor=actor, user=user, token_id=token_id)
    return len(ids)


def note_token_used(detail: TokenDetail) -> None:
    """Writes down when it was last used, to the minute."""
    now = timezone.now()
    if detail.last_used_at is None or now - detail.last_used_at > NOTED_EVERY:
        TokenDetail.objects.filter(pk=detail.pk).update(last_used_at=now)


def _of(user: StaffUser, detail: TokenDetail) -> dict[str, Any]:
    whose = "lab user" if user.role == Role.LAB else "user"
    until = timezone.localtime(detail.token.expiry).date().isoformat() if detail.token.expiry else "no end"
    may = detail.get_scope_display().lower()
    return {whose: [None, user.username], "token": [None, f"{detail.name} ({may}, until {until})"]}
