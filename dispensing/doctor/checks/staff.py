"""Who works here: without a manager a practice cannot take anybody on or set anything up."""

from __future__ import annotations

from collections.abc import Iterator

from django.contrib.auth import get_user_model

from dispensing.doctor.registry import Diagnosis, doctor_check, note, ok
from dispensing.roles import Role


@doctor_check("staff")
def somebody_manages() -> Iterator[Diagnosis]:
    if get_user_model().objects.filter(role=Role.MANAGER, is_active=True).exists():
        yield ok("a manager can sign in")
    else:
        yield note("no manager can sign in", "Run: python3 manage.py add_manager SIGN-IN-NAME GIVEN-NAME FAMILY-NAME")
