"""API tokens: issued, shown once, and revoked. Only a digest is kept, so nobody can read a token again.

A token acts with the role of the person, or of the lab, it was issued to.
"""

from __future__ import annotations

from django.db import transaction
from knox.models import AuthToken

from dispensing.models import StaffUser
from dispensing.roles import Role
from dispensing.services.audit import record

MOST_TOKENS = 10


class TokenRefused(ValueError):
    """Why no token was issued, worded for the person who asked."""


def issue_token(*, actor: StaffUser, user: StaffUser) -> str:
    """A new token for ``user``; the text returned is not kept anywhere."""
    with transaction.atomic():
        user = StaffUser.objects.select_for_update().get(pk=user.pk)
        if not user.is_active:
            raise TokenRefused(f"{user.display_name} cannot sign in at present. Let them sign in again first.")
        if AuthToken.objects.filter(user=user).count() >= MOST_TOKENS:
            raise TokenRefused(f"{user.display_name} has {MOST_TOKENS} tokens already. Take back one that is not used.")
        token, text = AuthToken.objects.create(user=user)
        record(actor=actor, verb="token.issue", target=user, changes=_of(user, token))
    return str(text)


def revoke_token(*, actor: StaffUser, user: StaffUser, token_key: str) -> bool:
    """Revokes one token of ``user`` by its first letters; False if there is no such token."""
    with transaction.atomic():
        token = AuthToken.objects.filter(user=user, token_key=token_key).first()
        if token is None:
            return False
        token.delete()
        record(actor=actor, verb="token.revoke", target=user, changes=_of(user, token))
    return True


def revoke_all_tokens(*, actor: StaffUser, user: StaffUser) -> int:
    """Revokes every token of ``user``; may be called inside a transaction or on its own."""
    with transaction.atomic():
        tokens = list(AuthToken.objects.filter(user=user))
        for token in tokens:
            revoke_token(actor=actor, user=user, token_key=token.token_key)
    return len(tokens)


def _of(user: StaffUser, token: AuthToken) -> dict[str, list[str | None]]:
    whose = "lab user" if user.role == Role.LAB else "user"
    return {whose: [None, user.username], "token": [None, f"{token.token_key}…"]}
