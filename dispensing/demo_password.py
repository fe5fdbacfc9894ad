"""The demo's password is printed in the README, so it opens nothing in a real practice, whoever set it."""

from __future__ import annotations

import json
import logging
from functools import cache
from typing import Any

from django.conf import settings
from django.contrib.auth.backends import BaseBackend
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpRequest

log = logging.getLogger("datumline.accounts")


def is_a_real_practice() -> bool:
    """Whether the settings name a database, and nobody is trying something out on it with ``DEBUG``."""
    return bool(settings.PRODUCTION) and not settings.DEBUG


@cache
def demo_facts() -> dict[str, Any]:
    """The demo practice: its ``password`` and its ``staff``."""
    facts: dict[str, Any] = json.loads((settings.BASE_DIR / "fixtures" / "demo" / "practice.json").read_text("utf-8"))
    return facts


class NeverTheDemoPassword(BaseBackend):
    """Stands before the backend that compares passwords, and ends the sign-in."""

    def authenticate(self, request: HttpRequest | None, password: str | None = None, **_: Any) -> None:
        if is_a_real_practice() and password == demo_facts()["password"]:
            log.warning("Somebody tried to sign in with the demo's password; it opens nothing here")
            raise PermissionDenied


class NotTheDemoPasswordValidator:
    """Refuses it as a password of one's own."""

    def validate(self, password: str, user: object = None) -> None:
        if is_a_real_practice() and password == demo_facts()["password"]:
            raise ValidationError("This is the password of the demo, which everybody can read. Choose another.")

    def get_help_text(self) -> str:
        return "It must not be the password of the demo."
