"""Reading which second factors somebody has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django_otp_webauthn.models import WebAuthnCredential

from dispensing.models import AuthenticatorApp, RecoveryCode, StaffUser


@dataclass(frozen=True)
class Factors:
    """``passkeys``: the credentials with their names. Recovery codes stand in for a lost factor and are none."""

    app: bool
    passkeys: Sequence[Any]
    codes_left: int

    def __bool__(self) -> bool:
        return self.app or bool(self.passkeys)

    def __str__(self) -> str:
        count = len(self.passkeys)
        keys = ["a passkey"] if count == 1 else [f"{count} passkeys"] if count else []
        return " and ".join((["an authenticator app"] if self.app else []) + keys)


def factors_of(user: StaffUser) -> Factors:
    return Factors(
        AuthenticatorApp.objects.filter(user=user, confirmed=True).exists(),
        list(WebAuthnCredential.objects.filter(user=user, confirmed=True).order_by("pk")),
        RecoveryCode.objects.filter(device__user=user).count(),
    )
