"""Who is calling: a token's owner, by a token that is named in whatever is noted, and may be one that only reads."""

from __future__ import annotations

from typing import Any

from drf_spectacular.contrib.knox_auth_token import KnoxTokenScheme
from knox.auth import TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed

from dispensing.models import TokenDetail
from dispensing.origin import present_origin
from dispensing.services.tokens import note_token_used


class NamedTokenAuthentication(TokenAuthentication):  # type: ignore[misc]  # knox has no types
    def authenticate_credentials(self, token: bytes) -> tuple[Any, Any]:
        user, auth = super().authenticate_credentials(token)
        detail = TokenDetail.objects.filter(token=auth).first()
        if detail is None:
            raise AuthenticationFailed("Invalid token.")
        if origin := present_origin():
            origin.token = detail.name
        note_token_used(detail)
        auth.scope = detail.scope
        return user, auth


class NamedTokenScheme(KnoxTokenScheme):  # type: ignore[no-untyped-call]  # its hook of subclasses has no types
    """Describes it in the OpenAPI document as knox's own, which it is to whoever calls."""

    target_class = "dispensing.api.token_authentication.NamedTokenAuthentication"
