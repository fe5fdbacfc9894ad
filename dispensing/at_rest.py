"""Scans, photos, secrets of labs and keys of apps, encrypted where they are kept if the settings have a key.

Encrypted by Fernet (AES-128-CBC with HMAC-SHA-256) of the library cryptography. The first key encrypts; the others
still open what they encrypted, so that a key can be changed while people work. What was stored before there was a key
stays readable, and ``manage.py encrypt_at_rest`` encrypts it. Hashes and sizes on record are of the plain content.
"""

from __future__ import annotations

from base64 import urlsafe_b64decode, urlsafe_b64encode
from typing import Any

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from django.conf import settings
from django.db import models

MARK = b"datumline encrypted 1\n"
"""What an encrypted file begins with; then the token's bytes, without the Base64 that would make it a third larger."""
TEXT_MARK = "encrypted-1:"


class NoKeyFits(OSError):
    """It was encrypted by a key that the settings do not have, or it was damaged since."""

    def __init__(self) -> None:
        super().__init__("No key in ENCRYPTION_KEYS opens this.")


def is_on() -> bool:
    return bool(settings.ENCRYPTION_KEYS)


def encrypted(content: bytes) -> bytes:
    """The content as it is stored; unchanged if there is no key."""
    return MARK + urlsafe_b64decode(_first().encrypt(content)) if is_on() else content


def decrypted(stored: bytes) -> bytes:
    """The plain content. Raises `NoKeyFits`."""
    return _opened(urlsafe_b64encode(stored[len(MARK) :])) if stored.startswith(MARK) else stored


def is_by_first_key(stored: bytes | str) -> bool:
    """Whether a file or a text is encrypted as it would be today."""
    if isinstance(stored, str):
        return stored.startswith(TEXT_MARK) and _fits_first(stored.removeprefix(TEXT_MARK).encode())
    return stored.startswith(MARK) and _fits_first(urlsafe_b64encode(stored[len(MARK) :]))


class EncryptedText(models.CharField):  # type: ignore[type-arg]  # Django's own class cannot be subscripted
    """A short text, encrypted in the database. It cannot be searched for: it is written differently each time."""

    def get_db_prep_save(self, value: Any, connection: Any) -> Any:
        said = super().get_db_prep_save(value, connection)
        return f"{TEXT_MARK}{_first().encrypt(said.encode()).decode()}" if said and is_on() else said

    def from_db_value(self, value: str | None, *_: Any) -> str | None:
        """Raises `NoKeyFits`."""
        if value is None or not value.startswith(TEXT_MARK):
            return value
        return _opened(value.removeprefix(TEXT_MARK).encode()).decode()


def _first() -> Fernet:
    return Fernet(settings.ENCRYPTION_KEYS[0])


def _opened(token: bytes) -> bytes:
    try:
        return MultiFernet([Fernet(key) for key in settings.ENCRYPTION_KEYS]).decrypt(token)
    except (InvalidToken, ValueError):  # ValueError: there is no key at all
        raise NoKeyFits from None


def _fits_first(token: bytes) -> bool:
    try:
        _first().decrypt(token)
    except InvalidToken:
        return False
    return True
