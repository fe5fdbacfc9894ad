"""The cast: the same people in every test. Dora is at the desk, Ravi dispenses, Ines manages; Lena is a lab's user."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.test import Client

from dispensing.models import StaffUser
from dispensing.roles import Role

if TYPE_CHECKING:
    # What the test client answers with: a response that also tells its context and templates.
    from django.test.client import _MonkeyPatchedWSGIResponse as Answer
else:
    from django.http import HttpResponse as Answer

__all__ = ["CAST", "PASSWORD", "Answer", "person", "signed_in"]

PASSWORD = "spectacles-on-the-bench"

CAST: dict[str, dict[str, Any]] = {
    "dora": {"first_name": "Dora", "last_name": "Penhallow", "role": Role.FRONT_DESK},
    "ravi": {"first_name": "Ravi", "last_name": "Castellan", "role": Role.DISPENSER, "registration": "D-10442"},
    "ines": {"first_name": "Ines", "last_name": "Holloway", "role": Role.MANAGER, "registration": "D-08317"},
    "lena": {"first_name": "Lena", "last_name": "Lantern", "role": Role.LAB},
}


def person(username: str, **changes: Any) -> StaffUser:
    """One of the cast by name, or anybody else with the fields given; made once a test."""
    user = StaffUser.objects.filter(username=username).first()
    if user is None:
        user = StaffUser(username=username, **(CAST.get(username, {}) | changes))
        user.set_password(PASSWORD)
        user.save()
    return user


def signed_in(username: str) -> Client:
    """A browser in which this person is signed in."""
    client = Client()
    client.force_login(person(username), backend="django.contrib.auth.backends.ModelBackend")
    return client
