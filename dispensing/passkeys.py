"""Passkeys of the practice: they are tied to the name in the browser's address, so they need one, and not a number."""

from __future__ import annotations

import ipaddress
from typing import Any
from urllib.parse import urlsplit

from django.http import HttpRequest
from django_otp_webauthn.helpers import WebAuthnHelper

from dispensing.models import Practice


class PracticeWebAuthn(WebAuthnHelper):  # type: ignore[misc]  # it has no types
    """Goes by the address that was asked for, which Django has held against ``ALLOWED_HOSTS``."""

    request: HttpRequest

    def get_relying_party_domain(self) -> str:
        return host_of(self.request)

    def get_relying_party_name(self) -> str:
        return str(Practice.current())

    def get_allowed_origins(self) -> list[str]:
        return [f"{self.request.scheme}://{self.request.get_host()}"]


def host_of(request: HttpRequest) -> str:
    return urlsplit(f"//{request.get_host()}").hostname or ""


def can_have_passkeys(request: HttpRequest) -> bool:
    """A number is no name, and a browser makes passkeys over HTTPS only, or on this very machine."""
    try:
        ipaddress.ip_address(host_of(request))
    except ValueError:
        return request.is_secure() or host_of(request) == "localhost"
    return False


def helper_for(request: Any) -> PracticeWebAuthn:
    return PracticeWebAuthn(request)
