"""Second factors as they are stored: an app's key encrypted where the settings have a key, recovery codes as hashes.

The library django-otp keeps both in clear. Its models stay in use for all but that: counting and slowing down wrong
codes, taking a code once, the drift of a clock.
"""

from __future__ import annotations

from binascii import unhexlify
from typing import Any

from django.contrib.auth.hashers import get_hasher, identify_hasher
from django.db import models
from django.utils.crypto import constant_time_compare
from django_otp.plugins.otp_static.models import StaticDevice
from django_otp.plugins.otp_totp.models import TOTPDevice, default_key

from dispensing.at_rest import EncryptedText


class WithoutSecrets(models.Manager["AuthenticatorApp"]):
    """A secret is read when it is needed: one that no key opens must not keep the row from being deleted."""

    def get_queryset(self) -> models.QuerySet[AuthenticatorApp]:
        return super().get_queryset().defer("secret")


class AuthenticatorApp(TOTPDevice):  # type: ignore[misc]  # the library says no types
    """The library's column ``key`` stays empty; ``secret`` is what it would hold, 20 bytes as hexadecimal digits."""

    secret = EncryptedText(max_length=300, default=default_key, editable=False)

    objects = WithoutSecrets()

    class Meta:
        verbose_name = "authenticator app"

    @property
    def bin_key(self) -> bytes:
        """What the library computes codes from. Raises `dispensing.at_rest.NoKeyFits`."""
        return unhexlify(self.secret)

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.key = ""
        super().save(*args, **kwargs)


class RecoverySet(StaticDevice):  # type: ignore[misc]  # the library says no types
    """The recovery codes that somebody was given at one time."""

    class Meta:
        proxy = True

    def verify_token(self, token: str) -> bool:
        """Whether it is one of the unused codes; it is then used up."""
        allowed, _ = self.verify_is_allowed()
        code = self._code(token) if allowed else None
        if code is not None:
            code.delete()
            self.throttle_reset(commit=False)
            self.set_last_used_timestamp(commit=False)
            self.save()
        elif allowed:
            self.throttle_increment()
        return code is not None

    def _code(self, token: str) -> RecoveryCode | None:
        codes = list(RecoveryCode.objects.filter(device_id=self.pk))
        if not codes:
            return None
        hashed = _hashed_like(codes[0].hashed, token)
        return next((code for code in codes if constant_time_compare(code.hashed, hashed)), None)


class RecoveryCode(models.Model):
    """The codes of a set have one salt, so that a typed code is hashed once, slowly, and not ten times."""

    device = models.ForeignKey(StaticDevice, related_name="recovery_codes", on_delete=models.CASCADE)
    hashed = models.CharField(max_length=200, editable=False)

    def __str__(self) -> str:
        return f"recovery code {self.pk}"


def hashed_codes(codes: list[str]) -> list[str]:
    """As Django hashes a password, which takes a good part of a second each."""
    hasher = get_hasher()
    salt = hasher.salt()
    return [hasher.encode(code, salt) for code in codes]


def _hashed_like(encoded: str, code: str) -> str:
    """With the salt and the rounds of ``encoded``, which may be from before the library asked for more of them."""
    hasher = identify_hasher(encoded)
    told: dict[str, Any] = hasher.decode(encoded)
    rounds = {"iterations": told["iterations"]} if "iterations" in told else {}
    return str(hasher.encode(code, told["salt"], **rounds))
