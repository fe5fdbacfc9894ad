"""Who works here: without a manager a practice cannot take anybody on or set anything up."""

from __future__ import annotations

from collections.abc import Iterator

from django.contrib.auth import get_user_model

from dispensing.demo_password import demo_facts, is_a_real_practice
from dispensing.doctor.registry import Diagnosis, doctor_check, note, ok, wrong
from dispensing.roles import Role


@doctor_check("staff")
def somebody_manages() -> Iterator[Diagnosis]:
    if get_user_model().objects.filter(role=Role.MANAGER, is_active=True).exists():
        yield ok("a manager can sign in")
    else:
        yield note("no manager can sign in", "Run: python3 manage.py add_manager SIGN-IN-NAME GIVEN-NAME FAMILY-NAME")


@doctor_check("demo")
def nobody_has_the_password_of_the_demo() -> Iterator[Diagnosis]:
    if not is_a_real_practice():
        return
    demo = demo_facts()
    names = [person["username"] for person in demo["staff"]]
    found = [
        user.username
        for user in get_user_model().objects.filter(username__in=names, is_active=True)
        if user.check_password(demo["password"])
    ]
    if found:
        yield wrong(
            f"staff of the demo are in this practice ({', '.join(found)}); their password opens nothing here",
            "Bar them on the page Staff, and look whether the demo's patients are in this database.",
        )
    else:
        yield ok("nobody has the password of the demo")
