"""The keys of authenticator apps: each can be opened by a key of the settings."""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.at_rest import NoKeyFits
from dispensing.doctor.registry import Diagnosis, doctor_check, ok, wrong
from dispensing.models import AuthenticatorApp


@doctor_check("authenticator-apps")
def keys_of_apps_can_be_opened() -> Iterator[Diagnosis]:
    closed = 0
    for pk, username in AuthenticatorApp.objects.order_by("pk").values_list("pk", "user__username"):
        try:
            AuthenticatorApp.objects.values_list("secret", flat=True).get(pk=pk)
        except NoKeyFits:
            closed += 1
            to_do = f"Put the key into ENCRYPTION_KEYS, or run: python3 manage.py take_off_second_factor {username}"
            yield wrong(f"no key in the settings opens the authenticator app of {username}", to_do)
    if not closed:
        yield ok("the keys of authenticator apps can be opened")
